package desk_test

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/records/desk"
)

// BenchmarkTakeIn takes 20,000 wells with six strata each in to a new file,
// on the durable settings.
func BenchmarkTakeIn(b *testing.B) {
	const n = 20_000
	r := rand.New(rand.NewPCG(1, 1))
	var text strings.Builder
	for i := range n {
		d := 1 + r.IntN(30)
		fmt.Fprintf(&text, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.6f,%.6f]},"properties":{"number":"W-%d","total_depth_m":%d,"yield_gpm":%d,"completed":"%d-05-01","strata":[{"top_m":0,"bottom_m":1,"description":"topsoil"},{"top_m":1,"bottom_m":%d,"description":"sand and gravel"},{"top_m":%d,"bottom_m":%d,"description":"blue clay"},{"top_m":%d,"bottom_m":%d,"description":"hardpan"},{"top_m":%d,"bottom_m":%d,"description":"soft granite"},{"top_m":%d,"bottom_m":%d,"description":"gray granite, hard"}]}}`+"\n",
			-40+r.Float64(), 44+r.Float64(), i, d+90, 1+r.IntN(30), 1960+i%60, d+1, d+1, d+3, d+3, d+8, d+8, d+12, d+12, d+90)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		d, err := desk.Open(b.Context(), desk.Options{Store: openStore(b, filepath.Join(b.TempDir(), "wells.db")), NoPicture: true, Log: quiet()})
		if err != nil {
			b.Fatal(err)
		}
		batch, err := takeIn(b.Context(), d, "wells.ndjson", strings.NewReader(text.String()), desk.Intake{})
		if err != nil || batch.Accepted != n {
			b.Fatalf("%+v, %v", batch, err)
		}
		if err := d.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n*b.N)/b.Elapsed().Seconds(), "wells/s")
}
