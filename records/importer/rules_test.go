package importer_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/importer"
)

func mapping(t testing.TB, sheets string) *importer.Mapping {
	t.Helper()
	m, err := importer.ReadMapping([]byte(`{"version":1,"sheets":[` + sheets + `]}`))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// What a mapping says of columns, each rule on a table that needs it.
func TestMappingRules(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		columns string // of the mapping, and what stands behind them
		want    []string
	}{
		"unknown": {"n,TD\nA,99\nB,100\nC, N/A \nD,n/a\n",
			`[{"column":"n","field":"number"},{"column":"TD","field":"total_depth","unit":"ft","unknown":["99","n/a"]}]`,
			[]string{`{"number":"A"}`, `{"number":"B","total_depth_m":30.48,"total_depth_given":"100","total_depth_given_unit":"ft"}`, `{"number":"C"}`, `{"number":"D"}`}},
		"left out, kept":    {"n,X,Y\nA,1,2\n", `[{"column":"n","field":"number"},{"column":"X","leave_out":true},{"column":"Y"}]`, []string{`{"number":"A","Y":"2"}`}},
		"not named is kept": {"n,total_depth_m\nA,1\n", `[{"column":"n","field":"number"}]`, []string{`{"number":"A","total_depth_m_column":"1"}`}},
		"ditto": {"n,who\nA,Ann\nB,\"\"\"\"\nC, do. \nD,Ben\nE,same\n",
			`[{"column":"n","field":"number"},{"column":"who","field":"crew.driller","ditto":true}]`,
			[]string{`{"number":"A","crew":{"driller":"Ann"}}`, `{"number":"B","crew":{"driller":"Ann"}}`, `{"number":"C","crew":{"driller":"Ann"}}`, `{"number":"D","crew":{"driller":"Ben"}}`, `{"number":"E","crew":{"driller":"Ben"}}`}},
		"ditto of nothing": {"n,who\nA,do\nB,Ann\n", `[{"column":"n","field":"number"},{"column":"who","field":"crew.driller","ditto":true}]`,
			[]string{`refused: column "who" repeats the row above (do), and there is none that can be read (write out what it stands for)`, `{"number":"B","crew":{"driller":"Ann"}}`}},
		"ditto of a broken row": {"n,who\nA,Ann\nB,Ann,x\nC,do\n", `[{"column":"n","field":"number"},{"column":"who","field":"crew.driller","ditto":true}]`,
			[]string{`{"number":"A","crew":{"driller":"Ann"}}`, `refused: has 3 fields where the header names 2 (put a text that holds ',' between quotes)`, `refused: column "who" repeats the row above (do), and there is none that can be read (write out what it stands for)`}},
		"split by a sign": {"n,place\nA,\"59.25, -118.5\"\n",
			`[{"column":"n","field":"number"},{"column":"la","field":"lat"},{"column":"lo","field":"lon"}],"splits":[{"column":"place","by":",","into":["la","lo"]}]`,
			[]string{`{"number":"A","place":"59.25, -118.5"}at -118.5 59.25`}},
		"split by a pattern": {"n,size\nA,6in x 40ft\nB,6 by 40\n",
			`[{"column":"n","field":"number"},{"column":"d","field":"casing.diameter","unit":"in"},{"column":"l","field":"casing.to","unit":"ft"},{"column":"size","leave_out":true}],"splits":[{"column":"size","pattern":"^(.*) x (.*)$","into":["d","l"]}]`,
			[]string{`{"number":"A","casing":[{"to_m":12.192,"to_given":"40ft","to_given_unit":"ft","diameter_mm":152.4,"diameter_given":"6in","diameter_given_unit":"in"}]}`, `refused: column "size": "6 by 40" does not fit the pattern that is to cut it (mend the text, or the pattern in the mapping)`}},
		"joined": {"n,street,town\nA,1 Example Road,Inventon\nB,,Inventon\n",
			`[{"column":"n","field":"number"},{"column":"where","field":"site.address"},{"column":"street","leave_out":true},{"column":"town","leave_out":true}],"joins":[{"columns":["street","town"],"with":", ","into":"where"}]`,
			[]string{`{"number":"A","site":{"address":"1 Example Road, Inventon"}}`, `{"number":"B","site":{"address":"Inventon"}}`}},
		"order of dates": {"n,d\nA,3/4/1987\n", `[{"column":"n","field":"number"},{"column":"d","field":"completed","order":"dmy"}]`, []string{`{"number":"A","completed":"1987-04-03"}`}},
		"two dates, two orders": {"n,a,b\nA,3/4/1987,3/4/1987\n", `[{"column":"n","field":"number"},{"column":"a","field":"started","order":"mdy"},{"column":"b","field":"completed","order":"dmy"}]`,
			[]string{`{"number":"A","started":"1987-03-04","completed":"1987-04-03"}`}},
		"vertical datum":      {"n,e\nA,100\n", `[{"column":"n","field":"number"},{"column":"e","field":"ground_elevation","unit":"m","datum":"NAVD88"}]`, []string{`{"number":"A","ground_elevation_m":100,"vertical_datum":"NAVD88"}`}},
		"header further down": {"a title\nanother,line\nn,d\nA,5\n", `[{"column":"n","field":"number"},{"column":"d","field":"total_depth","unit":"m"}],"header":3`, []string{`{"number":"A","total_depth_m":5}`}},
		"two headers in one": {"Casing,,Strata,,n\nFrom,To,From,To,\n0,5,5,9,A\n", `[{"column":"column_5","field":"number"},{"column":"Casing To","field":"casing.to","unit":"m"},{"column":"Strata To","field":"completed_depth","unit":"m"}],"header":2`,
			[]string{`{"number":"A","completed_depth_m":9,"casing":[{"to_m":5}],"Casing From":"0","Strata From":"5"}`}},
	} {
		t.Run(name, func(t *testing.T) {
			rows, err := readAll(t, c.text, importer.Options{Mapping: mapping(t, `{"role":"wells","columns":`+c.columns+`}`)})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, r := range rows {
				line := "refused: " + told(r)
				if !r.Refused() {
					line = properties(r.Well)
					if r.Well.Place.Located {
						line += fmt.Sprint("at ", r.Well.Place.Lon, " ", r.Well.Place.Lat)
					}
				}
				got = append(got, line)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

func TestMappingsThatDoNotHold(t *testing.T) {
	for sheets, want := range map[string]string{
		`{"role":"wells","colums":[]}`:                                                               "colums",
		`{"role":"wells","header":"x"}`:                                                              `a string stands at /sheets/0/header, where it cannot`,
		`{"role":"well"}`:                                                                            `there is no role "well"; did you mean wells`,
		`{"role":"wells","columns":[{"column":"a","field":"dpth"}]}`:                                 `there is no field "dpth"`,
		`{"role":"wells","columns":[{"column":"a","field":"yield","unit":"ft"}]}`:                    `"ft" is not a unit of yield`,
		`{"role":"wells","columns":[{"column":"a","field":"completed","order":"ydm"}]}`:              "use ymd, mdy or dmy",
		`{"role":"wells","columns":[{"column":"a","field":"lon","datum":"ED50"}]}`:                   `the datum "ED50" is not known`,
		`{"role":"wells","columns":[{"column":"a","field":"yield"},{"column":"b","field":"yield"}]}`: "given by two columns",
		`{"role":"wells","columns":[{"column":"a","field":"yield"},{"column":"a"}]}`:                 "said twice",
		`{"role":"wells","columns":[{"column":"a","field":"yield","leave_out":true}]}`:               "one of the two",
		`{"role":"wells","columns":[{"column":"a","unit":"ft"}]}`:                                    "and no field",
		`{"role":"wells","splits":[{"column":"a","pattern":"(","into":["b"]}]}`:                      "cannot be read",
		`{"role":"wells","splits":[{"column":"a","pattern":"(.)","into":["b","c"]}]}`:                "make them as many",
		`{"role":"wells","splits":[{"column":"a","into":["b"]}]}`:                                    `needs either "by"`,
		`{"sheet":"a","role":"wells","key":"k"},{"sheet":"b","role":"wells","key":"k"}`:              "2 sheets of wells",
		`{"sheet":"a","role":"wells","key":"k"},{"sheet":"b","role":"strata"}`:                       `sheet "b": no column is said to tell which well`,
		`{"sheet":"a","role":"skip"}`:                                                                "reads no sheet",
		`{"sheet":"a","role":"casing","key":"k"},{"sheet":"b","role":"strata","key":"k"}`:            "none of the sheets is of wells",
		`{"sheet":"a","role":"wells"},{"sheet":"a","role":"skip"}`:                                   `two sheets named "a"`,
	} {
		_, err := importer.ReadMapping([]byte(`{"version":1,"sheets":[` + sheets + `]}`))
		if err == nil || strings.Count(err.Error(), want) != 1 { // said, and said once
			t.Errorf("%s\n%v\nwant %q", sheets, err, want)
		}
	}
	// Columns that are not there are told when a mapping is applied, and end
	// reading where it is not.
	m := mapping(t, `{"role":"wells","columns":[{"column":"n","field":"number"},{"column":"gone","field":"yield","unit":"gpm"}]}`)
	path := write(t, "w.csv", "n,new\nA,1\n")
	if _, err := importer.Open(path, importer.Options{Mapping: m}); err == nil || !strings.Contains(err.Error(), `there is no column "gone"`) {
		t.Error(err)
	}
	l, err := importer.LookAt(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	fits, said := m.Applied(l)
	want := []string{`the table: the mapping takes yield from the column "gone", which is not there`, `the table: the column "new" is not named in the mapping and is kept as it stands`}
	if diff := cmp.Diff(want, said); diff != "" {
		t.Error(diff)
	}
	rows, _ := openAll(t, path, importer.Options{Mapping: fits})
	if len(rows) != 1 || properties(rows[0].Well) != `{"number":"A","new":"1"}` {
		t.Errorf("%d rows", len(rows))
	}
}

// NAD27 is moved to WGS 84 and told: the shift is that of the EPSG register's
// transformation 1173, which geo/position checks against its own sources. At
// this place the boxes of two regions overlap, and the poorer accuracy holds.
func TestDatumOfColumns(t *testing.T) {
	o := importer.Options{Mapping: mapping(t, `{"role":"wells","columns":[{"column":"x","field":"lon","datum":"NAD27"},{"column":"y","field":"lat","datum":"NAD27"}]}`)}
	rows, err := readAll(t, "x,y\n-110.5,45.25\n10,45\n", o)
	if err != nil {
		t.Fatal(err)
	}
	p := rows[0].Well.Place
	if p.Given != "-110.5, 45.25" || p.Datum != "NAD27" || p.LonText != "" || p.Lon > -110.5003 || p.Lon < -110.502 || p.Accuracy.Value != 20 || !rows[0].Warned() {
		t.Errorf("%+v", p)
	}
	if !rows[1].Refused() || !strings.Contains(told(rows[1]), "outside the regions") {
		t.Errorf("far away: %v", rows[1].Faults)
	}
}
