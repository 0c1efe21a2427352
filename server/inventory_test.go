package server_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

func TestInventoryPage(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/inventory").is(200).sound().says("All wells of an area", "List the wells")
	for _, by := range []string{"place", "outline", "area"} {
		w.get("/inventory?by=" + by).is(200).sound()
	}
	at := fmt.Sprintf("%g,%g", w.full.Place.Lat, w.full.Place.Lon)
	ask := "at=" + url.QueryEscape(at) + "&radius=1+mi"
	page := w.get("/inventory?"+ask).is(200).sound().says("All wells within 1 mi", "T-1", "iron", "<0.05 mg/L", "certified laboratory", "How this list was made", "marked unreliable")
	if strings.Contains(page.body, "Owner B") {
		t.Error("the owner is told unasked")
	}
	w.get("/inventory?"+ask+"&people=1").is(200).sound().says("Owner B", attack)
	w.get("/inventory?" + ask + "&units=si&theme=dark&picks=" + url.QueryEscape("first reading")).is(200).sound().says("own pick")
	w.get("/inventory.svg?" + ask).is(200)

	rows, err := csv.NewReader(strings.NewReader(w.get("/inventory.csv?" + ask).is(200).body)).ReadAll()
	if err != nil || len(rows) != 3 || rows[0][4] != "distance_m" || rows[1][2] != "yes" {
		t.Errorf("%v %v", rows, err)
	}
	quality, err := csv.NewReader(strings.NewReader(w.get("/inventory.csv?of=quality&" + ask).is(200).body)).ReadAll()
	if err != nil || len(quality) < 2 || quality[1][8] != "less_than" || quality[1][9] != "mg/L" {
		t.Errorf("%v %v", quality, err)
	}
	var fc struct {
		Features []struct {
			Properties map[string]any `json:"properties"`
		} `json:"features"`
	}
	if err := json.Unmarshal([]byte(w.get("/inventory.geojson?"+ask).is(200).body), &fc); err != nil || len(fc.Features) != 2 || fc.Features[0].Properties["inventory_within"] != "yes" || fc.Features[0].Properties["owner"] != nil {
		t.Errorf("%+v %v", fc, err)
	}
	for address, want := range map[string]string{
		"/inventory?at=nowhere&radius=1+mi":                      "the place",
		"/inventory?at=" + at + "&radius=far":                    "no distance",
		"/inventory?at=" + at + "&radius=-3":                     "no distance",
		"/inventory?at=" + at + "&radius=9000+km":                "too great",
		"/inventory?outline=%7B%7D":                              "no polygon",
		"/inventory?by=area&area=Nowhere":                        "No layer of the office",
		"/inventory?outline=" + url.QueryEscape(crossing):        "antimeridian",
		"/inventory?at=" + url.QueryEscape(attack) + "&units=si": "the place",
	} {
		w.get(address).is(422).sound().says(want)
	}
	w.get("/inventory?by=magic").is(422).sound()
	w.get("/inventory.csv").is(400)
	w.get("/inventory.csv?of=magic&" + ask).is(400)
}

const crossing = `{"type":"Polygon","coordinates":[[[179,0],[-179,0],[-179,1],[179,1],[179,0]]]}`

// An outline is pasted or sent as a file, and becomes part of the address.
func TestInventoryOutline(t *testing.T) {
	w := newRecordWorld(t)
	x, y := w.full.Place.Lon, w.full.Place.Lat
	square := fmt.Sprintf(`{"type":"Feature","properties":{"name":"a lot"},"geometry":{"type":"Polygon","coordinates":[[[%g,%g],[%g,%g],[%g,%g],[%g,%g],[%g,%g]]]}}`,
		x-0.01, y-0.01, x+0.01, y-0.01, x+0.01, y+0.01, x-0.01, y+0.01, x-0.01, y-0.01)
	send := func(pasted, file string) answer {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		must := func(err error) {
			if err != nil {
				t.Fatal(err)
			}
		}
		must(m.WriteField("outline", pasted))
		if file != "" {
			part, err := m.CreateFormFile("file", "lot.geojson")
			must(err)
			_, err = part.Write([]byte(file))
			must(err)
		}
		must(m.Close())
		r := httptest.NewRequest("POST", "http://127.0.0.1/inventory/outline", &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		return answered(t, w.handler, r)
	}
	for _, a := range []answer{send(square, ""), send("", "\ufeff"+square)} {
		page, _ := next(t, w.handler, a)
		page.says("within an outline", "T-1", "4 corners")
	}
	send("no GeoJSON", "").is(422).sound().says("not GeoJSON")
	send(crossing, "").is(303) // it is refused where it is asked
	many := make([]string, 0, 4001)
	for i := range 4000 {
		many = append(many, fmt.Sprintf("[%.7f,%.7f]", x+float64(i)/1e6, y))
	}
	many = append(many, many[0])
	send(`{"type":"Polygon","coordinates":[[`+strings.Join(many, ",")+`]]}`, "").is(422).sound().says("make it a layer")
	w.get("/inventory?by=area&area="+url.QueryEscape("Ninefold Township (invented)")).is(200).sound().says("within Ninefold Township (invented)", "4 corners")
}
