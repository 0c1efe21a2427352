package records

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tallybook/geo/position"
)

// place reads where the hole is: coordinates in any form that position.Parse
// takes, on the datum that stands beside them. An empty field says that the
// place is not known. Coordinates on NAD27 are brought to WGS 84 by the mean
// shift of their region where they are degrees (see position.NAD27Roughly),
// which a warning tells; grid coordinates on it are refused.
func (r *reader) place(p, was *Place) {
	t, ok := r.in["coordinates_given"]
	t = oneBreak(t)
	shown := oneBreak(placeText(was))
	if !ok || (t == shown || t == strings.ReplaceAll(shown, "\n", "")) && p.Datum == was.Datum {
		return
	}
	t = strings.TrimSpace(t)
	if t == "" {
		p.Located, p.Lon, p.Lat, p.LonText, p.LatText, p.Given = false, 0, 0, "", "", ""
		return
	}
	datum, known := position.ParseDatum(p.Datum)
	if !known { // else they would be taken as on WGS 84, and lie where no well is
		r.fault("datum", fmt.Sprintf("coordinates on %q cannot be brought to WGS 84 here", clip(p.Datum, 40)), "write WGS 84, NAD83 or NAD27, or leave it empty where nobody knows")
		return
	}
	options := position.Options{Datum: datum}
	if datum == position.DatumNAD27 {
		options.Datum = position.DatumUnknown
	}
	got, err := position.ParseIn(t, options)
	if err == nil && datum == position.DatumNAD27 && got.Datum == position.DatumUnknown {
		got, err = r.fromNAD27(got)
	}
	var e *position.ParseError
	switch {
	case errors.As(err, &e):
		mend := e.Mend
		if e.Suggest != nil {
			mend = fmt.Sprintf("%s; was %s meant?", mend, e.Suggest)
		}
		r.fault("coordinates_given", e.Problem, strings.TrimPrefix(mend, "; "))
		return
	case err != nil:
		r.fault("coordinates_given", err.Error(), "give them on WGS 84 or NAD83")
		return
	}
	if got.Note != "" {
		r.out.Faults = append(r.out.Faults, Fault{Warning, "coordinates_given", got.Note, "write it out if that is wrong"})
	}
	p.Located, p.Lon, p.Lat, p.LonText, p.LatText, p.Given = true, got.At.Lon, got.At.Lat, "", "", t
	if p.Datum == "" && got.Datum != position.DatumUnknown {
		p.Datum = got.Datum.String()
	}
}

// fromNAD27 brings degrees on NAD27 to WGS 84.
func (r *reader) fromNAD27(got position.Reading) (position.Reading, error) {
	if got.Form == position.UTMGrid {
		return got, fmt.Errorf("grid coordinates on NAD27 are not brought to WGS 84 here")
	}
	at, accuracyM, err := position.NAD27Roughly(got.At)
	if err != nil {
		return got, err
	}
	got.At = position.LonLat{Lon: math.Round(at.Lon*1e7) / 1e7, Lat: math.Round(at.Lat*1e7) / 1e7}
	got.Note = strings.TrimPrefix(got.Note+"; brought from NAD27 to WGS 84 by the mean shift of the region, good to about "+fmt.Sprintf("%.0f m", accuracyM), "; ")
	return got, nil
}
