package server_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"tallybook/records"
	"tallybook/records/desk"
)

// file sends a file and gives the address that it leads to.
func (w *recordWorld) file(name string, data []byte) answer {
	w.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	part, err := m.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(data)
	}
	if err == nil {
		err = m.Close()
	}
	if err != nil {
		w.t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/intake", &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return w.sent(r)
}

func (w *recordWorld) mustFile(name, text string) string {
	w.t.Helper()
	return w.file(name, []byte(text)).is(http.StatusSeeOther).header.Get("Location")
}

// over waits until the work on a file is over and gives the page or the
// address that follows.
func (w *recordWorld) over(at string) answer {
	w.t.Helper()
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		if a := w.get(at + "/report"); !strings.Contains(a.body, "data-working") {
			return a
		}
	}
	w.t.Fatal("after 30 s the work is not over")
	return answer{}
}

var columnInput = regexp.MustCompile(`<input[^>]*\sname="([^"]+)" value="([^"]*)"|<input id="[^"]+" name="([^"]+)" value="([^"]*)"`)

// columnsForm is what the form of columns would send as it stands.
func (a answer) columnsForm() url.Values {
	f := url.Values{"do": {"use"}}
	for _, m := range columnInput.FindAllStringSubmatch(a.body, -1) {
		if name := m[1] + m[3]; name != "q" && name != "remember" && !strings.HasSuffix(name, "ditto") {
			f.Set(name, plainEntities(m[2]+m[4]))
		}
	}
	for _, m := range regexp.MustCompile(`(?s)<select name="([^"]+)">(.*?)</select>`).FindAllStringSubmatch(a.body, -1) {
		if on := regexp.MustCompile(`<option value="([^"]*)" selected>`).FindStringSubmatch(m[2]); on != nil {
			f.Set(m[1], plainEntities(on[1]))
		}
	}
	return f
}

func plainEntities(s string) string { return strings.TrimSpace(plainText("<p>" + s + "</p>")) }

const fourWells = "WELL NO,LON,LAT,TD,ROCK FT,YIELD GPM,OWNER NAME\n" +
	"N-1,-38.8,44.21,200,20,5,Invented One\nN-2,-38.81,44.22,210,25,<1,Invented Two\nN-3,-38.82,44.23,three hundred,30,50+,Invented Three\nN-4,-38.83,44.24,220,900,dry,Invented Four\n"

// A table from its choice to its undo: looked at, mapped, remembered,
// rehearsed, accepted; what was refused is mended and sent again.
func TestIntakePages(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/intake").is(200).sound().says("Take a file in")
	at := w.mustFile("county 2025.csv", fourWells)
	w.get("/intake").says("county 2025.csv", "Not accepted yet")
	w.get(at).is(200).sound().says("a table of text", "WELL NO", "three hundred", "total depth")
	w.get(at + "/report").is(200).sound().says("not rehearsed yet")
	form := w.get(at + "/columns").is(200).sound().columnsForm()
	if form.Get("s0.c3.column") != "TD" || form.Get("s0.c3.holds") != "total depth" || form.Get("s0.role") != "wells" {
		t.Fatalf("the form is filled with %v", form)
	}
	wrong := cloneForm(form, "s0.c3.holds", "the height of the tree")
	w.send(at+"/columns", wrong).is(http.StatusUnprocessableEntity).sound().says("the height of the tree", "none of the fields")
	w.send(at+"/columns", cloneForm(form, "s0.c3.in", "gpm")).is(http.StatusUnprocessableEntity).sound().says("not a unit of total_depth")
	w.send(at+"/columns", cloneForm(form, "s0.x0.column", "OWNER NAME", "s0.x0.by", " ", "s0.x0.into", "FIRST, LAST", "do", "show")).is(200).sound().says("FIRST", "LAST", "made below")
	form = cloneForm(form, "s0.c3.in", "ft", "remember", "1", "name", "county")
	w.send(at+"/columns", form).is(http.StatusSeeOther)
	w.send(at+"/columns", cloneForm(form, "remember", "")).is(http.StatusConflict) // the form is an old one now
	report := w.over(at).is(200).sound().says("3 of 4 rows would be accepted", "three hundred", "N-3", "Accept it")
	if n := w.desk.Picture().Len(); strings.Contains(report.body, "N-1") || n != 43 {
		t.Errorf("a rehearsal wrote something: %d wells", n)
	}
	w.get(at + "/report?only=warned").is(200).sound().says("900").saysNot("N-3")
	w.get(at + "/report?only=nothing").is(http.StatusBadRequest)
	if csv := w.get(at + "/report.csv").is(200).body; strings.Count(csv, "\r\n") != 3 || !strings.Contains(csv, "refused") {
		t.Errorf("the report as a table:\n%s", csv)
	}
	w.send(at+"/accept", url.Values{"revision": {"1"}}).is(http.StatusConflict)
	w.send(at+"/accept", url.Values{"revision": {form.Get("revision")}}).is(http.StatusConflict)
	w.send(at+"/accept", url.Values{"revision": {"2"}}).is(http.StatusSeeOther)
	one := w.over(at).is(http.StatusSeeOther).header.Get("Location")
	// Dropped in a tab that was left open: it is in, and that is told.
	if told, _ := w.send(at+"/drop", nil).is(http.StatusSeeOther).told(); !strings.Contains(told, "was accepted meanwhile") {
		t.Errorf("dropped after it was accepted: %q", told)
	}
	w.get(at).is(http.StatusSeeOther)
	if n := w.desk.Picture().Len(); n != 46 {
		t.Fatalf("%d wells after it was accepted", n)
	}
	w.get(one).is(200).sound().says("county 2025.csv", "still here 3", "the record", "read by the mapping county")
	w.get("/intakes").is(200).sound().says("county 2025.csv", "by local")

	refused := w.get(one + "/refused").is(200)
	if want := "WELL NO,LON,LAT,TD,ROCK FT,YIELD GPM,OWNER NAME\nN-3,-38.82,44.23,three hundred,30,50+,Invented Three\n"; refused.body != want {
		t.Errorf("refused rows:\n%s", refused.body)
	}
	again := w.mustFile("mended.csv", strings.Replace(refused.body, "three hundred", "300", 1))
	w.get(again + "/columns?mapping=nothing").is(http.StatusNotFound)
	if f := w.get(again + "/columns").is(200).sound().says("filled in as intake 1").columnsForm(); f.Get("s0.c3.in") != "ft" {
		t.Errorf("filled in as before it gives %v", f)
	}
	f2 := w.get(again + "/columns?mapping=county").is(200).sound().says("Remembered").columnsForm()
	if f2.Get("s0.c3.in") != "ft" {
		t.Errorf("the remembered mapping gives %v", f2)
	}
	forget := url.Values{"name": {"county"}, "revision": {"1"}, "back": {again + "/columns"}}
	w.send("/intake/mapping", forget).is(http.StatusSeeOther)
	w.get(again + "/columns").is(200).saysNot("Remembered")
	w.send("/intake/mapping", forget).is(http.StatusConflict)
	w.send("/intake/mapping?again=1&name=county", nil).is(http.StatusSeeOther)
	w.get(again + "/columns").is(200).says("Remembered")
	w.send(again+"/columns", f2).is(http.StatusSeeOther)
	w.over(again).says("Every row would be accepted")
	w.send(again+"/accept", url.Values{"revision": {"2"}})
	w.over(again).is(http.StatusSeeOther)
	w.send(one+"/withdraw", nil).is(http.StatusSeeOther)
	w.get(one).is(200).sound().says("It was taken back")
	if n := w.desk.Picture().Len(); n != 44 {
		t.Errorf("%d wells after the first was taken back", n)
	}
}

func cloneForm(f url.Values, pairs ...string) url.Values {
	out := url.Values{}
	for k, v := range f {
		out[k] = v
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

// What cannot be taken is refused in words, and what a file holds cannot break
// out of the pages.
func TestIntakeRefusesAndEscapes(t *testing.T) {
	w := newRecordWorld(t)
	w.file("", nil).is(http.StatusBadRequest).says("No file")
	w.file("empty.csv", nil).is(http.StatusBadRequest).sound().says("empty")
	w.send("/intake", url.Values{"file": {"x"}}).is(http.StatusBadRequest).says("No file came")
	w.get("/intake/0123456789abcdef").is(http.StatusNotFound).says("send it again")
	w.get("/intakes/77").is(http.StatusNotFound)
	w.get("/intakes/99999999999999999999").is(http.StatusNotFound)
	w.get("/intakes").is(200).sound().says("No file was taken in yet")
	picture := w.mustFile("photo.csv", "\x89PNG\r\n\x1a\n0000")
	w.get(picture).is(200).sound().says("photo.csv is a PNG picture", "Drop it")
	w.send(picture+"/drop", nil).is(http.StatusSeeOther)
	w.get(picture).is(http.StatusNotFound)

	quoted := `"` + strings.ReplaceAll(attack, `"`, `""`) + `"`
	at := w.mustFile(attack+".csv", "number,lon,lat,"+quoted+",total_depth_ft\n"+quoted+",-38.8,44.2,"+quoted+","+quoted+"\nB,-38.81,44.21,x,200\n")
	w.get(at).is(200).sound()
	form := w.get(at + "/columns").is(200).sound().columnsForm()
	w.send(at+"/columns", cloneForm(form, "s0.c0.holds", attack, "name", attack, "s0.x0.column", attack, "s0.x0.by", attack, "s0.x0.into", attack)).is(http.StatusUnprocessableEntity).sound()
	w.send(at+"/rehearse", nil).is(http.StatusSeeOther)
	w.over(at).is(200).sound().says("1 of 2 rows")
	w.send(at+"/accept", url.Values{"revision": {"1"}}).is(http.StatusSeeOther)
	one := w.over(at).header.Get("Location")
	w.get(one).is(200).sound()
	w.get("/intakes").is(200).sound()
	if d := w.get(one + "/refused").header.Get("Content-Disposition"); strings.ContainsAny(d, "<>\"") {
		t.Errorf("the file is named %s", d)
	}
}

// A later copy by its pages: proposed by its name, compared, a clash decided
// and taken back.
func TestIntakeOfALaterCopy(t *testing.T) {
	w := newRecordWorld(t)
	take := func(name, text string, copyOf string) string {
		t.Helper()
		at := w.mustFile(name, text)
		if copyOf != "" {
			w.get(at).says("A later copy of", "its name is alike")
			w.send(at, url.Values{"copy_of": {copyOf}, "table": {"1"}}).is(http.StatusSeeOther)
		}
		w.send(at+"/rehearse", nil)
		w.over(at)
		f, err := w.desk.SentFile(t.Context(), desk.LocalPerson(), strings.TrimPrefix(at, "/intake/"))
		if err != nil {
			t.Fatal(err)
		}
		w.send(at+"/accept", url.Values{"revision": {itoa(f.Revision)}})
		return w.over(at).is(http.StatusSeeOther).header.Get("Location")
	}
	first := take("county 2025.csv", fourWells, "")
	well1 := w.numbered(t, "N-1")
	well1.Owner.Name = "The office knows better"
	w.save(well1, "")
	second := take("county 2026.csv", strings.Replace(strings.Replace(fourWells, "Invented One", "Invented Other", 1), "210", "215", 1), first[len("/intakes/"):])
	page := w.get(second).is(200).sound().says("owner, name: the copy and the office say different things", "The office knows better", "Invented Other", "total depth", "215")
	w.get(fmt.Sprintf("/well/%d", well1.ID)).is(200).sound().says("a later copy, intake 2", "1 property is said differently by the office")
	w.get(first).is(200).sound().says("is a later copy of it", "cannot be taken back before")
	well := regexp.MustCompile(`name="well" value="(\d+)"`).FindStringSubmatch(page.body)[1]
	decide := func(choice string) answer {
		return w.send(second+"/clash", url.Values{"well": {well}, "field": {"owner.name"}, "choice": {choice}})
	}
	decide("copy").is(http.StatusSeeOther)
	w.get(second).is(200).sound().says("Decided by local: as the copy has it")
	decide("office").is(http.StatusConflict)
	decide("").is(http.StatusSeeOther)
	decide("nonsense").is(http.StatusBadRequest)
	w.get(second + "?copy=gone").is(200).sound().says("No such record")
	w.get(second + "?copy=nothing").is(http.StatusBadRequest)
	w.send(first+"/withdraw", nil).is(http.StatusConflict)
	w.send(second+"/withdraw", nil).is(http.StatusSeeOther)
	w.send(first+"/withdraw", nil).is(http.StatusSeeOther)
	w.get("/intakes").is(200).sound().says("taken back")
}

func itoa(n int64) string {
	if n >= 10 {
		return itoa(n/10) + itoa(n%10)
	}
	return string(rune('0' + n))
}

// A workbook with strata in a sheet of their own: what was refused comes back
// as a workbook with the same sheets, and goes in once it is mended.
func TestIntakeOfAWorkbook(t *testing.T) {
	w := newRecordWorld(t)
	at := w.file("logs.xlsx", workbook(t, "three hundred")).is(http.StatusSeeOther).header.Get("Location")
	w.get(at).is(200).sound().says("Wells", "Strata", "blue clay")
	w.get(at + "/columns").is(200).sound().says("The well is told by")
	w.send(at+"/rehearse", nil)
	w.over(at).is(200).sound().says("1 of 2 rows would be accepted", "three hundred")
	w.send(at+"/accept", url.Values{"revision": {"1"}})
	one := w.over(at).is(http.StatusSeeOther).header.Get("Location")
	refused := w.get(one + "/refused").is(200)
	f, err := excelize.OpenReader(strings.NewReader(refused.body))
	if err != nil {
		t.Fatal(err)
	}
	for sheet, rows := range map[string]int{"Wells": 2, "Strata": 3} {
		have, err := f.GetRows(sheet)
		if err != nil || len(have) != rows {
			t.Errorf("sheet %s comes back with %v, %v", sheet, have, err)
		}
	}
	if err := f.SetCellValue("Wells", "D2", "300"); err != nil {
		t.Fatal(err)
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	again := w.file("mended.xlsx", b.Bytes()).is(http.StatusSeeOther).header.Get("Location")
	w.send(again+"/rehearse", nil)
	w.over(again).is(200).says("Every row would be accepted")
	if err := f.Close(); err != nil {
		t.Error(err)
	}
}

// workbook has two wells with their strata; the second's depth is as given.
func workbook(t *testing.T, depth any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}()
	if err := f.SetSheetName("Sheet1", "Wells"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.NewSheet("Strata"); err != nil {
		t.Fatal(err)
	}
	for sheet, rows := range map[string][][]any{
		"Wells":  {{"Well No", "Lon", "Lat", "Total depth ft"}, {"X-1", -38.8, 44.2, 120}, {"X-2", -38.81, 44.21, depth}},
		"Strata": {{"Well No", "Top ft", "Bottom ft", "Description"}, {"X-1", 0, 12, "blue clay"}, {"X-1", 12, 120, "gray granite"}, {"X-2", 0, 20, "sand"}, {"X-2", 20, 300, "schist"}},
	} {
		for i, row := range rows {
			if err := f.SetSheetRow(sheet, "A"+itoa(int64(i+1)), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// numbered is the record with a well number.
func (w *recordWorld) numbered(t *testing.T, number string) *records.Well {
	t.Helper()
	found, err := w.desk.Find(t.Context(), desk.LocalPerson(), number, 3)
	if err != nil || len(found.Matches) == 0 {
		t.Fatalf("%s: %v", number, err)
	}
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), found.Matches[0].WellID)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Well
}
