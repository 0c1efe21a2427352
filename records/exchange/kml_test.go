package exchange_test

import (
	"encoding/xml"
	"errors"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/exchange"
)

func kmlOf(t *testing.T, wells []*records.Well, o exchange.Options) string {
	t.Helper()
	var b strings.Builder
	k, err := exchange.NewKML(&b, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wells {
		err = errors.Join(err, k.Write(w))
	}
	if err = errors.Join(err, k.Close()); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Another reader of XML (Go's own) finds every value in the document, and no
// value without its declaration.
func TestKMLHoldsWhatATableHolds(t *testing.T) {
	w := manyParts()
	w[0].Remarks = "a <b> & \"c\"\x01\n=1"
	w[0].Owner = records.Person{Name: "Nobody Invented"}
	text := kmlOf(t, w, exchange.Options{})
	var doc struct {
		Fields []struct {
			Name string `xml:"name,attr"`
			Type string `xml:"type,attr"`
		} `xml:"Document>Schema>SimpleField"`
		Marks []struct {
			Name string `xml:"name"`
			Data []struct {
				Name string `xml:"name,attr"`
				Text string `xml:",chardata"`
			} `xml:"ExtendedData>SchemaData>SimpleData"`
			At string `xml:"Point>coordinates"`
		} `xml:"Document>Folder>Placemark"`
	}
	if err := xml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	types := map[string]string{}
	for _, f := range doc.Fields {
		types[f.Name] = f.Type
	}
	if len(doc.Marks) != 3 || doc.Marks[0].Name != "=1+1" || doc.Marks[0].At != "-40.5,44.25" || doc.Marks[2].At != "" {
		t.Fatalf("%+v", doc.Marks)
	}
	found := map[string]string{}
	for _, d := range doc.Marks[0].Data {
		if types[d.Name] == "" {
			t.Errorf("%s is not declared", d.Name)
		}
		found[d.Name] = d.Text
	}
	for name, want := range map[string]string{"uid": w[0].UID, "total_depth_m": "60", "yield_qualifier": "less_than", "remarks": "a <b> & \"c\"\uFFFD\n=1"} {
		if found[name] != want {
			t.Errorf("%s is %q, want %q", name, found[name], want)
		}
	}
	if types["total_depth_m"] != "double" || types["remarks"] != "string" || strings.Contains(text, "Nobody") || strings.Contains(text, "owner") {
		t.Errorf("types %v", types)
	}
	if !strings.Contains(kmlOf(t, w, exchange.Options{Private: true}), "Nobody Invented") {
		t.Error("the owner is left out where asked for")
	}
	if err := xml.Unmarshal([]byte(kmlOf(t, nil, exchange.Options{})), &doc); err != nil {
		t.Errorf("a document of no wells: %v", err)
	}
}
