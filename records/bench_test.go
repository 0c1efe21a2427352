package records_test

import (
	"encoding/json"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

var today = records.Date{Year: 2026, Month: 11, Day: 25}

func BenchmarkParseProperties(b *testing.B) {
	raw := write(recordstest.Plain())
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		var w records.Well
		if faults := w.ParseProperties(raw); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// The naive version: the standard library into a map.
func BenchmarkParsePropertiesNaive(b *testing.B) {
	raw := write(recordstest.Plain())
	b.SetBytes(int64(len(raw)))
	b.ReportAllocs()
	for b.Loop() {
		var m map[string]any
		if err := json.Unmarshal(raw, &m); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppendProperties(b *testing.B) {
	w := recordstest.Plain()
	buf := write(w)
	b.SetBytes(int64(len(buf)))
	b.ReportAllocs()
	for b.Loop() {
		buf = w.AppendProperties(buf[:0], records.WriteOptions{Private: true})
	}
}

func BenchmarkValidate(b *testing.B) {
	w := recordstest.Plain()
	o := records.ValidateOptions{Today: today, Reader: recordstest.ByClass{}}
	b.ReportAllocs()
	for b.Loop() {
		if faults := w.Validate(o); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

func BenchmarkDerive(b *testing.B) {
	w := recordstest.Plain()
	b.ReportAllocs()
	for b.Loop() {
		if d := records.Derive(w, recordstest.ByClass{}, nil); d.Bedrock.Qualifier != records.Exact {
			b.Fatal(d.Bedrock)
		}
	}
}

func BenchmarkDerivePicks(b *testing.B) {
	w := recordstest.Plain()
	b.ReportAllocs()
	for b.Loop() {
		records.DerivePicks(w, recordstest.ByClass{})
	}
}

func BenchmarkParseAmount(b *testing.B) {
	for _, s := range []string{"203", "62' 6\"", "<1 gpm"} {
		dim, unit := records.DimLength, records.Foot
		if s[0] == '<' {
			dim, unit = records.DimFlow, records.GallonPerMinute
		}
		b.Run(s, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := records.ParseAmount(s, dim, unit); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
