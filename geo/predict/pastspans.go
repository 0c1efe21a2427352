package predict

// PastSpan is the summary of the wells of some years in a row.
type PastSpan struct {
	FirstYear, LastYear int
	PastSummary
}

// Spans sums up stretches of whole years with at least so many forecasts each;
// what is left over at the end goes with the stretch before it.
func (p *Past) Spans(least int) ([]PastSpan, error) {
	var ends []int // of each stretch
	from := 0
	for to := 1; to <= len(p.Forecasts); to++ {
		if to < len(p.Forecasts) && p.Forecasts[to].Year == p.Forecasts[to-1].Year {
			continue
		}
		switch {
		case to-from >= least:
			ends, from = append(ends, to), to
		case to == len(p.Forecasts) && len(ends) > 0:
			ends[len(ends)-1] = to
		case to == len(p.Forecasts):
			ends = append(ends, to)
		}
	}
	var out []PastSpan
	from = 0
	for _, to := range ends {
		s, err := p.sum(from, to)
		if err != nil {
			return nil, err
		}
		out = append(out, PastSpan{p.Forecasts[from].Year, p.Forecasts[to-1].Year, s})
		from = to
	}
	return out, nil
}
