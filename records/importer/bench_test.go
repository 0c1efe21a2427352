package importer_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"testing"

	"tallybook/records/importer"
)

// sample is n features a line with six strata each, like an agency's log.
func sample(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		fmt.Fprintf(&b, `{"type":"Feature","id":%d,"geometry":{"type":"Point","coordinates":[%.5f,%.5f]},"properties":{"number":"W-%06d","purpose":"domestic","completed":"%d-06-15","total_depth_m":%d.5,"depth_to_bedrock_m":%d.25,"yield_lps":0.%02d,"static_level_m":6.10,"casing":[{"from_m":-0.5,"to_m":18,"diameter_mm":152.4,"material":"steel"}],"strata":[`,
			i, -118+float64(i%1000)/1000, 59+float64(i/1000)/1000, i, 1970+i%50, 60+i%90, 10+i%5, i%90+10)
		top := 0
		for k := range 6 {
			if k > 0 {
				b.WriteByte(',')
			}
			bottom := top + 2 + (i+k)%5
			if k == 5 {
				bottom = 60 + i%90
			}
			fmt.Fprintf(&b, `{"top_m":%d,"bottom_m":%d,"description":"%s, some water at %d","color":"grey"}`, top, bottom, [...]string{"brown clay", "sand and gravel", "hardpan", "rotten rock", "schist", "granite, hard"}[k], bottom)
			top = bottom
		}
		b.WriteString("]}}\n")
	}
	return b.Bytes()
}

func table(n int) []byte {
	var b bytes.Buffer
	b.WriteString("id,lon,lat,depth_to_bedrock_m\n")
	for i := range n {
		fmt.Fprintf(&b, "%d,%.5f,%.5f,%d.%02d\n", i, -118+float64(i%1000)/1000, 59.0, i%200, i%100)
	}
	return b.Bytes()
}

func BenchmarkPipeline(b *testing.B) {
	const n = 20000
	for name, text := range map[string][]byte{"GeoJSON": sample(n), "CSV": table(n)} {
		for _, workers := range []int{1, 2} {
			b.Run(fmt.Sprintf("%s/workers=%d", name, workers), func(b *testing.B) {
				b.ReportAllocs()
				b.SetBytes(int64(len(text)))
				for b.Loop() {
					s, err := importer.NewSource(bytes.NewReader(text), importer.Options{})
					if err != nil {
						b.Fatal(err)
					}
					accepted := 0
					err = importer.Pipeline(b.Context(), s, workers, func(r *importer.Row) error {
						if !r.Refused() {
							accepted++
						}
						return nil
					})
					if err != nil || accepted != n {
						b.Fatalf("%d accepted, %v", accepted, err)
					}
				}
				b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
			})
		}
	}
}

// BenchmarkCutting is the part that cannot be shared among workers.
func BenchmarkCutting(b *testing.B) {
	const n = 20000
	lines := sample(n)
	for name, text := range map[string][]byte{
		"lines":      lines,
		"collection": append(append([]byte(`{"type":"FeatureCollection","features":[`), bytes.ReplaceAll(bytes.TrimSpace(lines), []byte("\n"), []byte(",\n"))...), "]}"...),
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				s, err := importer.NewSource(bytes.NewReader(text), importer.Options{})
				if err != nil {
					b.Fatal(err)
				}
				if got, err := s.CutOnly(); got != n || !errors.Is(err, io.EOF) {
					b.Fatalf("%d rows, %v", got, err)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

// BenchmarkEncodingJSON is the naive way to the same values, without
// validation, unknown properties or digits kept.
func BenchmarkEncodingJSON(b *testing.B) {
	const n = 20000
	text := sample(n)
	type stratum struct {
		Top         float64 `json:"top_m"`
		Bottom      float64 `json:"bottom_m"`
		Description string  `json:"description"`
		Color       string  `json:"color"`
	}
	type feature struct {
		ID       int64 `json:"id"`
		Geometry struct {
			Coordinates []float64 `json:"coordinates"`
		} `json:"geometry"`
		Properties struct {
			Number    string  `json:"number"`
			Purpose   string  `json:"purpose"`
			Completed string  `json:"completed"`
			Depth     float64 `json:"total_depth_m"`
			Bedrock   float64 `json:"depth_to_bedrock_m"`
			Yield     float64 `json:"yield_lps"`
			Static    float64 `json:"static_level_m"`
			Casing    []struct {
				From     float64 `json:"from_m"`
				To       float64 `json:"to_m"`
				Diameter float64 `json:"diameter_mm"`
				Material string  `json:"material"`
			} `json:"casing"`
			Strata []stratum `json:"strata"`
		} `json:"properties"`
	}
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		d := json.NewDecoder(bytes.NewReader(text))
		for {
			var f feature
			if err := d.Decode(&f); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
