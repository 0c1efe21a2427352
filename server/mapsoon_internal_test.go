package server

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/demo"
	"tallybook/records/desk"
)

// TestPageDoesNotWait: of many wells the page comes without its surface, says so
// and asks for it again; the drawing waits and has it. Where no surface is shown
// nothing is missing and nothing is said.
func TestPageDoesNotWait(t *testing.T) {
	w, err := makeWorld(0)
	if err != nil {
		t.Fatal(err)
	}
	var wells []*records.Well
	for seed := uint64(1); len(wells) < 6500; seed++ {
		for _, well := range demo.Make(seed).Wells {
			well.Number = fmt.Sprintf("%d-%s", seed, well.Number)
			wells = append(wells, well)
		}
	}
	if err := w.desk.AddAll(t.Context(), desk.LocalPerson(), wells, nil, nil); err != nil {
		t.Fatal(err)
	}
	const unfinished, sentence = " data-unfinished", "being worked out"
	for _, c := range []struct {
		query string
		waits bool
	}{
		{place + "&show=none&field=total_depth", false},
		{"w=900&h=600&lon=-38.75&lat=44.25&mpp=2000&field=total_depth", false}, // far out
		{place + "&field=yield", true},
	} {
		page := w.get(t, "/?"+c.query)
		if page.Code != http.StatusOK {
			t.Fatal(page.Code, page.Body.String())
		}
		body := page.Body.String()
		if strings.Contains(body, unfinished) != c.waits || strings.Contains(body, sentence) != c.waits {
			t.Errorf("%s: unfinished %v, said %v, want %v", c.query, strings.Contains(body, unfinished), strings.Contains(body, sentence), c.waits)
		}
	}
	svg := w.get(t, "/map.svg?"+place+"&field=yield").Body.String()
	if strings.Contains(svg, sentence) || !strings.Contains(svg, "hidden wells") {
		t.Error("the drawing did not wait for its model")
	}
	body := w.get(t, "/?"+place+"&field=yield").Body.String()
	if strings.Contains(body, unfinished) || !strings.Contains(body, svg) {
		t.Error("the page does not show what is made now")
	}
}
