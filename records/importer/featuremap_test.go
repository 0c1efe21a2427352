package importer_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/importer"
)

// Properties of features are mapped as columns are; the rest is read as
// without a mapping, and nothing is lost.
func TestMappedFeatures(t *testing.T) {
	m := mapping(t, `{"role":"wells","columns":[{"column":"WELL_NO","field":"number"},{"column":"TD","field":"total_depth","unit":"ft","unknown":["-999"]},
		{"column":"DRILLED","field":"completed","order":"mdy"},{"column":"CAS","field":"casing.to","unit":"ft"},{"column":"la","field":"lat"},{"column":"lo","field":"lon"},{"column":"JUNK","leave_out":true}],
		"splits":[{"column":"POS","by":" ","into":["la","lo"]}]}`)
	for name, c := range map[string]struct{ properties, want string }{
		"mapped":             {`{"WELL_NO":17,"TD":305,"DRILLED":"3/4/1987","JUNK":1,"other":[1,2.50]}`, `{"number":"17","completed":"1987-03-04","total_depth_m":92.964,"total_depth_given":"305","total_depth_given_unit":"ft","other":[1,2.50]}`},
		"unknown":            {`{"TD":-999,"WELL_NO":null}`, `{}`},
		"profile beside":     {`{"WELL_NO":"A","depth_to_bedrock_m":5,"strata":[{"top_m":0,"bottom_m":5,"description":"clay"}]}`, `{"number":"A","depth_to_bedrock_m":5,"strata":[{"top_m":0,"bottom_m":5,"description":"clay"}]}`},
		"two casings":        {`{"CAS":10,"casing":[{"to_m":9}]}`, `{"casing":[{"to_m":3.048,"to_given":"10","to_given_unit":"ft"}],"casing_column":[{"to_m":9}]}`},
		"an object":          {`{"TD":{"v":1}}`, `{"TD":{"v":1}}`},
		"a place of its own": {`{"POS":"59.25 -118.5"}`, `{"POS":"59.25 -118.5","lo":"-118.5","la":"59.25"}`},
	} {
		t.Run(name, func(t *testing.T) {
			rows, err := readAll(t, point(c.properties), importer.Options{Mapping: m})
			if err != nil || len(rows) != 1 || rows[0].Refused() {
				t.Fatalf("%d rows, %v: %v", len(rows), err, rows)
			}
			if diff := cmp.Diff(c.want, properties(rows[0].Well)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
	rows, err := readAll(t, `{"type":"Feature","geometry":null,"properties":{"POS":"59.25 -118.5","WELL_NO":"A"}}`, importer.Options{Mapping: m})
	if err != nil || rows[0].Refused() || !rows[0].Well.Place.Located || rows[0].Well.Place.Lon != -118.5 {
		t.Errorf("%v, %v", err, rows[0])
	}
	rows, err = readAll(t, point(`{"TD":"deep"}`), importer.Options{Mapping: m})
	if err != nil || !rows[0].Refused() || !strings.Contains(told(rows[0]), `(column "TD")`) {
		t.Errorf("%v, %s", err, told(rows[0]))
	}
	l, err := importer.LookAt(write(t, "w.geojson", point(`{"TD_FT":305,"well_no":"A","strata":[],"depth_to_bedrock_m":4}`)), importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"TD_FT": "total_depth ft", "well_no": "number", "strata": "", "depth_to_bedrock_m": ""}
	if diff := cmp.Diff(want, guesses(&l.Sheets[0])); diff != "" {
		t.Errorf("guessed (-want +got):\n%s", diff)
	}
}
