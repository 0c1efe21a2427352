package server_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/recordstest"
)

// loadGrid sends the form of a grid as a browser does, in the form's order.
func (w *recordWorld) loadGrid(fields [][2]string, name, prj string, asc []byte) answer {
	w.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	write := func(field, file string, data []byte) {
		part, err := m.CreateFormFile(field, file)
		if err == nil {
			_, err = part.Write(data)
		}
		if err != nil {
			w.t.Fatal(err)
		}
	}
	for _, f := range fields {
		if err := m.WriteField(f[0], f[1]); err != nil {
			w.t.Fatal(err)
		}
	}
	write("prj", map[bool]string{true: "grid.prj"}[prj != ""], []byte(prj))
	write("file", name, asc)
	if err := m.Close(); err != nil {
		w.t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/office/ground", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return w.sent(r)
}

func gridFields(name, datum, unit, srid string) [][2]string {
	return [][2]string{{"name", name}, {"datum", datum}, {"unit", unit}, {"note", "no survey"}, {"srid", srid}}
}

var groundForm = regexp.MustCompile(`action="(/office/ground/[0-9]+/[a-z]+\?revision=[0-9]+)"`)

func TestGroundPages(t *testing.T) {
	w := newRecordWorld(t)
	terrain := demo.Make(9).Terrain()
	bare := &records.Well{Place: records.Place{Located: true, Lon: -38.75, Lat: 44.25}}
	wrong := &records.Well{Place: records.Place{Located: true, Lon: -38.75, Lat: 44.25, Elevation: recordstest.Feet[records.Height]("512")}}
	w.save(bare, "")
	w.save(wrong, "")
	w.get("/office").is(200).sound().says("Ground elevation", "No elevation grid is loaded")
	w.get("/office/ground").is(200).sound().says("No elevation grid is loaded yet", "gdal_translate -of AAIGrid")
	w.get("/well/" + itoa(bare.ID)).is(200).saysNot("derived")

	w.loadGrid(gridFields("Hills <i>", "", "m", "32624"), "hills.asc", "", terrain.ASC).is(400).says("vertical datum")
	w.loadGrid(gridFields("Hills <i>", "invented", "m", ""), "hills.asc", "", terrain.ASC).is(400).says("EPSG").sound()
	w.loadGrid(gridFields("Hills <i>", "invented", "m", "x"), "hills.asc", "", terrain.ASC).is(400).says("no EPSG code")
	w.loadGrid(gridFields("Hills <i>", "invented", "m", "32624"), "hills.asc", "", []byte("II*\x00")).is(400).says("not an ASCII grid", "gdal_translate")
	w.loadGrid(gridFields("Hills <i>", "invented", "m", "32624"), "", "", nil).is(400).says("No grid was chosen")
	w.loadGrid(gridFields("Hills <i>", "invented", "m", "32625"), "hills.asc", `GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`, terrain.ASC).is(400).says("says EPSG:4326 and the code given is EPSG:32625")
	w.loadGrid(gridFields("Hills <i>", "invented", "m", "32624"), "hills.asc", "no text of coordinates", terrain.ASC).is(400).says("leave the .prj file out if EPSG:32624 is right")
	w.send("/office/ground", nil).is(400)
	loaded := w.loadGrid(gridFields("Hills <i>", "invented", "m", "EPSG:32624"), "hills.asc", "", terrain.ASC).is(303)
	if to := loaded.header.Get("Location"); to != "/office/ground" {
		t.Errorf("led to %q", to)
	}
	page := w.get("/office/ground").is(200).sound().says("Hills <i>", "340 by 340", "invented", "EPSG:32624", "no survey", "Those that differ most")
	w.get("/office").is(200).sound().says("Hills <i>")
	w.get("/well/"+itoa(bare.ID)).is(200).sound().says("ground elevation, derived", "from Hills <i>, above invented", "791 ft")
	w.get("/well/"+itoa(wrong.ID)).is(200).sound().says("beside it, derived", "The record's elevation and that of Hills <i> differ by 279 ft", "To be looked at")

	w.get("/map.svg?field=bedrock_elevation").is(200).says("Elevation of sound bedrock, ft", "made as")
	w.get("/?field=bedrock_elevation&show=chance").is(200).sound().says("elevation of sound bedrock", "It is made", "hidden from it").saysNot("ordinary kriging")
	w.get("/?field=bedrock_elevation&show=range").is(200).sound().says("Width of the 8-in-10 range of elevation of sound bedrock")
	w.get("/map.svg?field=bedrock_elevation&show=idw&units=si").is(200).says("Elevation of sound bedrock, m", "inverse distance")

	form := groundForm.FindStringSubmatch(page.body)
	if form == nil {
		t.Fatal("no way to take it out")
	}
	w.send(form[1], nil).is(303)
	w.send(form[1], nil).is(409)
	out := w.get("/office/ground").is(200).sound().says("Taken out", "No elevation grid is loaded yet")
	w.get("/well/" + itoa(bare.ID)).is(200).saysNot("derived")
	forms := groundForm.FindAllStringSubmatch(out.body, -1)
	if len(forms) != 2 || !strings.Contains(forms[0][1], "/back") {
		t.Fatalf("forms: %v", forms)
	}
	w.send(forms[0][1], nil).is(303)
	w.get("/well/" + itoa(bare.ID)).is(200).says("ground elevation, derived")
	w.send(forms[1][1], nil).is(409) // in use again
	again := groundForm.FindStringSubmatch(w.get("/office/ground").body)
	w.send(again[1], nil).is(303)
	gone := groundForm.FindAllStringSubmatch(w.get("/office/ground").body, -1)
	w.send(gone[1][1], nil).is(303)
	w.get("/office/ground").is(200).saysNot("Taken out")
	w.send("/office/ground/99/out?revision=1", nil).is(404)
	w.send(fmt.Sprintf("/office/ground/%d/out", 1), nil).is(400)
}

// Hung on sea level, a well whose record gives no elevation hangs at that of a
// grid, says so, and comes down with the grid. 791 ft is what the page of the
// well itself says (TestGroundPages).
func TestCompareHangsOnTheGrid(t *testing.T) {
	w := newRecordWorld(t)
	depths := func() []records.Stratum {
		return []records.Stratum{{Top: recordstest.Feet[records.Depth]("0"), Bottom: recordstest.Feet[records.Depth]("40"), Description: "clay"}}
	}
	bare := &records.Well{Number: "BARE", Strata: depths(), Place: records.Place{Located: true, Lon: -38.75, Lat: 44.25}}
	own := &records.Well{Number: "OWN", Strata: depths(), Place: records.Place{Located: true, Lon: -38.751, Lat: 44.25, Elevation: recordstest.Feet[records.Height]("800"), VertDatum: "invented"}}
	w.save(bare, "")
	w.save(own, "")
	q := fmt.Sprintf("?ids=%d,%d&hang=sea", bare.ID, own.ID)
	w.get("/compare"+q).is(200).sound().says("Not hung on sea level", "cannot be hung on sea level")
	without := w.get("/compare.svg" + q).is(200)
	w.loadGrid(gridFields("Hills", "invented", "m", "32624"), "terrain.asc", "", demo.Make(9).Terrain().ASC).is(303)
	w.get("/compare"+q).is(200).sound().says("read from an elevation grid, for their records give none: BARE.", "read from Hills", "791 ft").saysNot("Not hung on sea level", "different datums")
	wellFormed(t, w.get("/compare.svg"+q).is(200).says("791\u00a0ft, read from", "above invented").saysNot("cannot be hung").body)
	w.get("/compare?ids="+fmt.Sprintf("%d,%d", bare.ID, own.ID)).is(200).saysNot("hung at", "Hung at an elevation")
	out := groundForm.FindStringSubmatch(w.get("/office/ground").body)
	w.send(out[1], nil).is(303)
	if again := w.get("/compare.svg" + q).is(200); again.body != without.body {
		t.Error("with the grid out the drawing is not what it was without it")
	}
}
