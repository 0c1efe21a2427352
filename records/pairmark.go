package records

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
)

// PairMark is a short text that changes when anything changes by which a
// record is compared with others: its place, number, permit, dates, depths,
// diameter, yield, level, pump, driller, owner and parcel. A decision on two
// records holds as long as this of both stays as it was.
func PairMark(w *Well) string {
	var b strings.Builder
	add := func(parts ...any) {
		for _, p := range parts {
			fmt.Fprintf(&b, "%v\x00", p)
		}
	}
	number := func(a amountRef) {
		v := a.load()
		add(v.Qualifier, v.Value, v.High)
	}
	p := &w.Place
	add(p.Located, p.Lon, p.Lat, w.Number, w.PermitNumber, w.Started, w.Completed, p.Parcel)
	add(w.Crew.Driller, w.Crew.Licence, w.Owner.Name, p.Address)
	number(&p.Accuracy)
	for _, a := range []amountRef{&w.TotalDepth, &w.CompletedDepth, &w.Bedrock, &w.StaticLevel, &w.Yield, &w.Pump.SetDepth} {
		number(a)
	}
	for i := range w.Casing {
		number(&w.Casing[i].To)
		number(&w.Casing[i].Diameter)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:12])
}
