package recordstest

import (
	"fmt"
	"math/rand/v2"
	"strconv"

	"tallybook/records"
)

// Random is a valid well drawn by seed: the same seed gives the same well on
// every machine. It validates without a refusal.
func Random(seed uint64) *records.Well {
	r := rand.New(rand.NewPCG(seed, 0x7461_6c6c_7962_6f6f))
	w := &records.Well{
		UID:     fmt.Sprintf("%08x-0000-7000-8000-%012x", r.Uint32(), seed&0xffff_ffff_ffff),
		Number:  "R-" + strconv.FormatUint(seed, 10),
		Purpose: pick(r, "domestic", "stock", "irrigation", "monitoring", ""),
		Setting: pick(r, "hilltop", "slope", "draw", "valley", "flat", ""),
		Rock:    pick(r, "Example Granite", "Example Slate", ""),
	}
	if r.IntN(20) > 0 {
		w.Place = records.Place{Located: true, Lon: -75 + 5*r.Float64(), Lat: 42 + 4*r.Float64(), Method: "gps", Accuracy: Metres[records.Length]("10")}
		w.Place.Elevation = Metres[records.Height](strconv.Itoa(50 + r.IntN(500)))
	}
	w.Completed = records.Date{Year: 1950 + r.IntN(70), Month: 1 + r.IntN(12), Day: 1 + r.IntN(28)}
	switch r.IntN(4) {
	case 0:
		w.Completed.Day = 0
	case 1:
		w.Completed.Month, w.Completed.Day = 0, 0
	}
	strata(r, w)
	total, _ := w.LastLogged()
	w.TotalDepth = records.Of(total)
	w.Yield = drawYield(r)
	if r.IntN(2) == 0 {
		w.StaticLevel = Feet[records.Depth](strconv.Itoa(r.IntN(int(float64(total)/0.3048) + 1)))
	}
	for range r.IntN(4) {
		w.Strikes = append(w.Strikes, records.Strike{Depth: records.Of(total * records.Depth(r.Float64())), Flow: drawYield(r)})
	}
	if r.IntN(8) == 0 {
		w.Extra = append(w.Extra, records.Member{Name: "was_" + strconv.Itoa(r.IntN(9)), JSON: pick(r, "7", `"x"`, `[1,2.50]`, "null")})
	}
	return w
}

// strata draws a log from the ground down and a casing to fit.
func strata(r *rand.Rand, w *records.Well) {
	at := 0
	add := func(material string, feet int) {
		w.Strata = append(w.Strata, Stratum(strconv.Itoa(at), strconv.Itoa(at+feet), pick(r, "", "gray "+material, material+", hard", "br. \""+material+"\" ½"), material))
		at += feet
	}
	for range 1 + r.IntN(4) {
		add(pick(r, "clay", "till", "sand", "gravel"), 1+r.IntN(40))
	}
	contact := at
	if r.IntN(6) > 0 {
		if r.IntN(4) == 0 {
			add("saprolite", 1+r.IntN(20))
			contact = at
		}
		for range 1 + r.IntN(3) {
			add(pick(r, "granite", "slate", "limestone"), 10+r.IntN(200))
		}
	}
	if r.IntN(2) == 0 {
		w.Bedrock = Feet[records.Depth](strconv.Itoa(contact))
		if contact == at {
			w.Bedrock.Qualifier = records.GreaterThan
		}
	}
	seat := min(at, contact+5+r.IntN(20))
	w.Casing = []records.Casing{{From: Feet[records.Depth]("-1.5"), To: Feet[records.Depth](strconv.Itoa(seat)), Material: "steel", Diameter: Inches("6")}}
}

func drawYield(r *rand.Rand) records.Amount[records.Flow] {
	switch r.IntN(8) {
	case 0:
		return Gpm("<1")
	case 1:
		return Gpm("dry")
	case 2:
		return Gpm("50+")
	case 3:
		return Gpm("3-5")
	case 4:
		return records.Amount[records.Flow]{}
	case 5:
		return Read[records.Flow]("0.50", records.DimFlow, records.LitrePerSecond)
	}
	return Gpm(strconv.FormatFloat(float64(r.IntN(400))/4, 'f', -1, 64))
}

func pick(r *rand.Rand, words ...string) string { return words[r.IntN(len(words))] }
