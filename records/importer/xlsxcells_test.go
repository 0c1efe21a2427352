package importer_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"tallybook/records/importer"
)

// Kinds of cells, as a library writes them that is not ours: rich text, yes
// and no, formulas without a value, merged cells, texts of digits, a count of
// days from 1904, and a sheet that nobody sees.
func TestKindsOfCells(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	yes := true
	try := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	try(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
	for at, v := range map[string]any{
		"A1": "Casing", "D1": "Log", "A2": "Well No", "B2": "From", "C2": "To", "D2": "From", "E2": "Counts", "F2": "Completed", "G2": "TD_m", "H2": "Remarks",
		"A3": "007", "B3": -0.5, "C3": 18.899999999999999, "D3": 0, "E3": true, "F3": day(2004, 6, 15), "G3": 30, "H3": "a_x0041_b",
		"D4": 5, "A5": "008", "E5": false, "G5": "#N/A",
	} {
		try(f.SetCellValue("Sheet1", at, v))
	}
	date, err := f.NewStyle(&excelize.Style{NumFmt: 17}) // mmm-yy: no day is shown
	try(err)
	try(f.SetCellStyle("Sheet1", "F3", "F3", date))
	try(f.SetCellRichText("Sheet1", "H5", []excelize.RichTextRun{{Text: "soft "}, {Text: "grey", Font: &excelize.Font{Bold: true}}}))
	try(f.SetCellFormula("Sheet1", "G4", "G3+1"))
	try(f.MergeCell("Sheet1", "A3", "A4"))
	_, err = f.NewSheet("Notes")
	try(err)
	try(f.SetCellValue("Notes", "A1", "not for others"))
	try(f.SetSheetVisible("Notes", false))
	path := filepath.Join(t.TempDir(), "kinds.xlsx")
	try(f.SaveAs(path))

	l, err := importer.LookAt(path, importer.Options{})
	try(err)
	s := &l.Sheets[0]
	var names []string
	for _, c := range s.Columns {
		names = append(names, c.Name)
	}
	if diff := cmp.Diff([]string{"Well No", "Casing From", "To", "Log From", "Counts", "Completed", "TD_m", "Remarks"}, names); diff != "" {
		t.Errorf("columns (-want +got):\n%s", diff)
	}
	want := [][]string{
		{"007", "-0.5", "18.9", "0", "TRUE", "2004-06", "30", "aAb"},
		{"007", "", "", "5", "", "", "=G3+1"},
		{"008", "", "", "", "FALSE", "", "#N/A", "soft grey"},
	}
	if diff := cmp.Diff(want, s.Head); diff != "" {
		t.Errorf("cells (-want +got):\n%s", diff)
	}
	if !strings.Contains(strings.Join(s.Notes, ";"), "1 formula without a stored value") {
		t.Errorf("notes %q", s.Notes)
	}
	if n := &l.Sheets[1]; n.Role != importer.Skip || !strings.Contains(strings.Join(n.Notes, ";"), "hidden") {
		t.Errorf("the hidden sheet is %s, %q", n.Role, n.Notes)
	}
	m := mapping(t, `{"sheet":"Sheet1","role":"wells","header":2,"columns":[{"column":"Well No","field":"number"},{"column":"TD_m","field":"total_depth","unit":"m"},{"column":"Completed","field":"completed"}]}`)
	rows, _ := openAll(t, path, importer.Options{Mapping: m})
	if len(rows) != 3 || rows[0].Refused() || !rows[1].Refused() || !rows[2].Refused() || !strings.Contains(told(&rows[1]), "=G3+1") {
		t.Fatalf("%d rows: %s; %s", len(rows), told(&rows[0]), told(&rows[1]))
	}
	if got := properties(rows[0].Well); !strings.HasPrefix(got, `{"number":"007","completed":"2004-06","total_depth_m":30,`) {
		t.Error(got)
	}
}
