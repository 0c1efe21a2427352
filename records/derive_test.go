package records_test

import (
	"hash/fnv"
	"math"
	"math/big"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestDigest(t *testing.T) {
	w := recordstest.Full()
	w.ID, w.Revision = 7, 3
	w.Plates = make([]records.Plate, 1)
	w.Strikes = append(w.Strikes, records.Strike{Depth: recordstest.Feet[records.Depth]("60")}, records.Strike{Depth: recordstest.Feet[records.Depth]("200")})
	got := records.Derive(w, recordstest.ByClass{}, func(name string) uint16 {
		if name != "Example Granite" {
			t.Errorf("asked for rock unit %q", name)
		}
		return 12
	})
	exact := func(v float64) records.DigestValue { return records.DigestValue{Value: v, Qualifier: records.Exact} }
	want := records.Digest{
		ID: 7, Revision: 3, Key: records.KeyOf(w.UID), Lon: -72.5, Lat: 44.25, AccuracyM: 5,
		Bedrock: exact(40 * foot), Yield: exact(6 * gpm), TotalDepth: exact(203 * foot),
		FirstRockM: 40 * foot, CasingM: 51 * foot, StaticM: 18 * foot, GroundM: 301.5,
		Year:    float32(2004 + 166.5/366),
		Purpose: 1, Setting: 2, Rock: 12, // 'domestic' comes first, 'slope' second
		Materials: 1<<records.ClassSoil | 1<<records.ClassRock,
		StrikesM:  [3]float32{60 * foot, 97 * foot, 188 * foot},
		Flags:     records.HasPlate | records.HasStrata | records.YieldUnreliable | records.HasOwnBedrock,
		Own:       []records.DigestPick{{Set: "first reading", Depth: records.DigestValue{Value: 42 * foot, Qualifier: records.About}}},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-12)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestDigestOfAnEmptyRecord(t *testing.T) {
	got := records.Derive(&records.Well{}, nil, nil)
	nan := records.NaN32()
	want := records.Digest{
		Key: records.KeyOf(""), Lon: math.NaN(), Lat: math.NaN(), FirstRockM: nan, CasingM: nan, StaticM: nan, GroundM: nan,
		StrikesM: [3]float32{nan, nan, nan},
	}
	if diff := cmp.Diff(want, got, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestYieldOfADigest(t *testing.T) {
	for name, c := range map[string]struct {
		change func(w *records.Well)
		want   records.DigestValue
	}{
		"as it stands": {func(*records.Well) {}, records.DigestValue{Value: 6 * gpm, Qualifier: records.Exact}},
		"a bound":      {func(w *records.Well) { w.Yield = recordstest.Gpm("<1") }, records.DigestValue{Value: gpm, Qualifier: records.LessThan}},
		"a range":      {func(w *records.Well) { w.Yield = recordstest.Gpm("3-5") }, records.DigestValue{Value: 3 * gpm, High: 5 * gpm, Qualifier: records.Between}},
		"dry":          {func(w *records.Well) { w.Yield = recordstest.Gpm("dry") }, records.DigestValue{Qualifier: records.Exact}},
		"monitoring":   {func(w *records.Well) { w.Purpose = "monitoring" }, records.DigestValue{}},
		"monitoring, but it counts": {func(w *records.Well) {
			yes := true
			w.Purpose, w.Yields = "monitoring", &yes
		}, records.DigestValue{Value: 6 * gpm, Qualifier: records.Exact}},
		"fractured": {func(w *records.Well) {
			w.Treatments = []records.Treatment{{Kind: "hydrofracture", YieldBefore: recordstest.Gpm("1"), YieldAfter: recordstest.Gpm("6")}}
		}, records.DigestValue{Value: gpm, Qualifier: records.Exact}},
		"fractured, before not known": {func(w *records.Well) {
			w.Treatments = []records.Treatment{{Kind: "hydrofracture", YieldAfter: recordstest.Gpm("6")}}
		}, records.DigestValue{}},
		"deepened": {func(w *records.Well) {
			w.Works = []records.Work{{Kind: "drill", Yield: recordstest.Gpm("2"), TotalDepth: recordstest.Feet[records.Depth]("120")}, {Kind: "deepen", Yield: recordstest.Gpm("6")}}
		}, records.DigestValue{Value: 2 * gpm, Qualifier: records.Exact}},
		"deepened, before not known": {func(w *records.Well) {
			w.Works = []records.Work{{Kind: "drill"}, {Kind: "deepen", Yield: recordstest.Gpm("6")}}
		}, records.DigestValue{}},
		"not finite": {func(w *records.Well) { w.Yield = records.Of(records.Flow(math.NaN())) }, records.DigestValue{}},
	} {
		t.Run(name, func(t *testing.T) {
			w := recordstest.Plain()
			c.change(w)
			if diff := cmp.Diff(c.want, records.Derive(w, nil, nil).Yield, cmpopts.EquateApprox(0, 1e-12)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestDepthAsFirstDrilled(t *testing.T) {
	w := recordstest.Plain()
	w.Works = []records.Work{{Kind: "drill", Completed: records.Date{Year: 1987}, TotalDepth: recordstest.Feet[records.Depth]("120")}, {Kind: "deepen"}}
	d := records.Derive(w, nil, nil)
	if !close12(d.TotalDepth.Value, 120*foot) || d.Year != 1987.5 {
		t.Errorf("depth %v, year %v; want 120 ft of 1987", d.TotalDepth, d.Year)
	}
	w.Works[0].TotalDepth = records.Amount[records.Depth]{}
	if d := records.Derive(w, nil, nil); d.TotalDepth.Qualifier != records.Missing {
		t.Errorf("depth before deepening %v, want missing", d.TotalDepth)
	}
}

// More materials than bits: the last bit stands for all that have none.
type manyMaterials struct{}

func (manyMaterials) Ground(s *records.Stratum) records.Ground {
	return records.Ground{Class: records.ClassRock, Index: uint8(len(s.Description))}
}
func (manyMaterials) Version() string { return "" }

func TestMaterialsMet(t *testing.T) {
	w := &records.Well{Strata: make([]records.Stratum, 3)}
	for i, n := range []int{3, 62, 200} {
		w.Strata[i].Description = string(make([]byte, n))
	}
	if got := records.Derive(w, manyMaterials{}, nil).Materials; got != 1<<3|1<<62|1<<63 {
		t.Errorf("materials %b", got)
	}
}

// The standard library's FNV-1a, and SplitMix64's last steps (Steele, Lea and
// Flood, "Fast splittable pseudorandom number generators", 2014; constants
// from memory) in wide arithmetic, as a second way.
func TestKeyOf(t *testing.T) {
	word := new(big.Int).Lsh(big.NewInt(1), 64)
	mix := func(h *big.Int, shift uint, factor uint64) *big.Int {
		h = new(big.Int).Xor(h, new(big.Int).Rsh(h, shift))
		if factor != 0 {
			h.Mul(h, new(big.Int).SetUint64(factor)).Mod(h, word)
		}
		return h
	}
	// The first number of SplitMix64 from seed 0 is 0xe220a8397b1dcdaf (as
	// its authors' code prints it, from memory).
	finish := func(h uint64) uint64 {
		x := new(big.Int).SetUint64(h)
		return mix(mix(mix(x, 30, 0xbf58476d1ce4e5b9), 27, 0x94d049bb133111eb), 31, 0).Uint64()
	}
	if got := finish(0x9e3779b97f4a7c15); got != 0xe220a8397b1dcdaf {
		t.Fatalf("the second way is wrong itself: %x", got)
	}
	for _, uid := range []string{"", "a", "0190a1b2-c3d4-7e5f-8a6b-0123456789ab", "\xff"} {
		h := fnv.New64a()
		h.Write([]byte(uid))
		if got, want := records.KeyOf(uid), finish(h.Sum64()); got != want {
			t.Errorf("key of %q: %x, want %x", uid, got, want)
		}
	}
}

// Keys of names that differ in one letter must differ in about half of their
// bits and fill the range evenly.
func TestKeys(t *testing.T) {
	if a, b := records.KeyOf("x"), records.KeyOf("x"); a != b {
		t.Error("a key changes")
	}
	const n = 1 << 14
	var buckets [64]int
	flipped := 0
	last := records.KeyOf("")
	for i := range n {
		k := records.KeyOf(recordstest.Random(uint64(i)).UID)
		buckets[k>>58]++
		for x := k ^ last; x != 0; x &= x - 1 {
			flipped++
		}
		last = k
	}
	for i, c := range buckets {
		// Poisson with mean 256: six standard deviations.
		if math.Abs(float64(c)-n/64) > 6*16 {
			t.Errorf("%d keys in part %d of 64, of %d", c, i, n)
		}
	}
	if mean := float64(flipped) / n; math.Abs(mean-32) > 0.3 {
		t.Errorf("keys differ in %v bits of 64", mean)
	}
}

func TestStaticLevelOfADigest(t *testing.T) {
	level := func(date string, metres string) records.Level {
		d, err := records.ParseDate(date)
		if date != "" && err != nil {
			t.Fatal(err)
		}
		return records.Level{Date: d, Depth: recordstest.Metres[records.Depth](metres)}
	}
	w := &records.Well{StaticLevels: []records.Level{level("", "9"), level("2010", "8"), level("2004-06", "7"), level("2001", "<6"), level("2004-07", "5")}}
	if got := records.Derive(w, nil, nil).StaticM; got != 7 {
		t.Errorf("the earliest dated number of the series is 7, got %v", got)
	}
	w.StaticLevel = recordstest.Metres[records.Depth]("-0.5")
	if got := records.Derive(w, nil, nil).StaticM; got != -0.5 {
		t.Errorf("the level that the record stands for is -0.5, got %v", got)
	}
	w.StaticLevel = recordstest.Metres[records.Depth](">30")
	if got := records.Derive(w, nil, nil).StaticM; !math.IsNaN(float64(got)) {
		t.Errorf("a bound became %v", got)
	}
}
