package variogram

import "tallybook/geo/near"

// sites is the samples gathered by place: two samples at one place cannot both
// be met, and would make the system singular.
type sites struct {
	x, y, mean []float64
	count      []float64 // samples of each site
	members    [][]int32 // their positions in the caller's slices
}

func gather(x, y, values []float64, toleranceM float64) (sites, error) {
	of, err := near.Sites(x, y, toleranceM)
	if err != nil {
		return sites{}, err
	}
	var s sites
	for i, site := range of {
		if int(site) == len(s.members) {
			s.members = append(s.members, nil)
		}
		s.members[site] = append(s.members[site], int32(i))
	}
	for _, members := range s.members {
		n := float64(len(members))
		// Means of the steps from the first sample, so that samples at the
		// very same place give that place to the last digit.
		x0, y0, v0 := x[members[0]], y[members[0]], values[members[0]]
		var dx, dy, dv float64
		for _, m := range members {
			dx, dy, dv = dx+(x[m]-x0), dy+(y[m]-y0), dv+(values[m]-v0)
		}
		s.x, s.y, s.mean = append(s.x, x0+dx/n), append(s.y, y0+dy/n), append(s.mean, v0+dv/n)
		s.count = append(s.count, n)
	}
	return s, nil
}
