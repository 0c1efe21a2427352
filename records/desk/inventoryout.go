package desk

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/exchange"
)

// inventoryHead are the columns of an inventory as a table, in base units.
var inventoryHead = []string{
	"uid", "number", "within", "why_may", "distance_m", "bearing_deg", "inside_edge_m", "lon", "lat", "located_by", "accuracy_m",
	"status", "purpose", "completed", "total_depth_m", "total_depth_qualifier",
	"bedrock_m", "bedrock_high_m", "bedrock_qualifier", "bedrock_by", "stated_bedrock_m", "stated_bedrock_qualifier",
	"yield_lps", "yield_qualifier", "static_level_m", "static_level_qualifier", "casing_to_m", "own_picks", "marked_unreliable",
}

// qualityHead are those of the results of water quality.
var qualityHead = []string{"uid", "number", "within", "distance_m", "date", "kind", "value", "value_high", "qualifier", "unit", "as_given", "method", "laboratory", "in_field"}

// MayWords says why a well only may lie within; "" where it does.
func (w *InventoryWell) MayWords() string {
	switch {
	case !w.May:
		return ""
	case w.Well.Doubts()&records.PositionUnreliable != 0:
		return "its position is marked unreliable"
	case w.EdgeM < 0:
		return "its position is outside, but no better known than the edge is near"
	}
	return "its position is inside, but no better known than the edge is near"
}

func (w *InventoryWell) within() string {
	if w.May {
		return "may"
	}
	return "yes"
}

// InventoryCSV writes the wells of an inventory as a table: RFC 4180, UTF-8,
// base units, their names and units in the head. Texts that a spreadsheet would
// run are guarded. People's columns are there where they were asked for.
func (d *Desk) InventoryCSV(ctx context.Context, actor records.Actor, inv *Inventory, out io.Writer) error {
	private, err := d.inventoryOut(actor, inv)
	if err != nil {
		return err
	}
	c := csv.NewWriter(out)
	head := inventoryHead
	if private {
		head = append(head[:len(head):len(head)], "owner", "owner_address", "owner_telephone", "site_address")
	}
	rows := [][]string{head}
	for i := range inv.Wells {
		if err := ctx.Err(); err != nil {
			return err
		}
		rows = append(rows, inv.Wells[i].cells(private))
	}
	return c.WriteAll(rows)
}

// inventoryOut asks whether an inventory may be given out, and whether with
// people.
func (d *Desk) inventoryOut(actor records.Actor, inv *Inventory) (private bool, err error) {
	if err := d.Permit(actor, GiveOut); err != nil || inv == nil {
		return false, err
	}
	if inv.Ask.Private {
		return true, d.Permit(actor, SeePrivate)
	}
	return false, nil
}

func (w *InventoryWell) cells(private bool) []string {
	r := w.Well
	value := func(known bool, v float64) string {
		if !known {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	metres := func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
	b := w.Picks.Bedrock
	seat, cased := r.CasingSeat()
	row := []string{
		r.UID, exchange.Guard(r.Number), w.within(), w.MayWords(), metres(w.DistanceM), strconv.FormatFloat(w.BearingDeg, 'f', 1, 64), metres(w.EdgeM),
		strconv.FormatFloat(r.Place.Lon, 'f', 7, 64), strconv.FormatFloat(r.Place.Lat, 'f', 7, 64), exchange.Guard(r.Place.Method), value(r.Place.Accuracy.Known(), float64(r.Place.Accuracy.Value)),
		exchange.Guard(r.Status), exchange.Guard(r.Purpose), r.Completed.String(),
		value(r.TotalDepth.Known(), float64(r.TotalDepth.Value)), qualifierOf(r.TotalDepth.Qualifier),
		value(b.Depth.Known(), float64(b.Depth.Value)), value(b.Depth.Qualifier == records.Between, float64(b.Depth.High)), qualifierOf(b.Depth.Qualifier), sourceOf(b),
		value(r.Bedrock.Known(), float64(r.Bedrock.Value)), qualifierOf(r.Bedrock.Qualifier),
		value(r.Yield.Known(), float64(r.Yield.Value)), qualifierOf(r.Yield.Qualifier),
		value(r.StaticLevel.Known(), float64(r.StaticLevel.Value)), qualifierOf(r.StaticLevel.Qualifier),
		value(cased, float64(seat)), exchange.Guard(picksText(r)), exchange.Guard(marksText(r)),
	}
	if private {
		row = append(row, exchange.Guard(r.Owner.Name), exchange.Guard(r.Owner.Address), exchange.Guard(r.Owner.Telephone), exchange.Guard(r.Place.Address))
	}
	return row
}

func qualifierOf(q records.Qualifier) string {
	if q == records.Missing {
		return ""
	}
	return q.String()
}

func sourceOf(p records.Pick) string {
	if p.Source == records.FromNothing {
		return ""
	}
	return p.Source.String()
}

// picksText lists own picks in one cell, in metres: 'first reading: bedrock
// about 13.411 m; …'.
func picksText(w *records.Well) string {
	var out []string
	for i := range w.OwnPicks {
		p := &w.OwnPicks[i]
		t := p.Set + ": " + strings.ReplaceAll(p.Of, "_", " ") + " " + strings.ReplaceAll(qualifierOf(p.Depth.Qualifier), "_", " ") + " " + strconv.FormatFloat(float64(p.Depth.Value), 'f', -1, 64)
		if p.Depth.Qualifier == records.Between {
			t += " and " + strconv.FormatFloat(float64(p.Depth.High), 'f', -1, 64)
		}
		out = append(out, t+" m")
	}
	return strings.Join(out, "; ")
}

func marksText(w *records.Well) string {
	var out []string
	for i := range w.Unreliable {
		m := &w.Unreliable[i]
		out = append(out, strings.TrimSuffix(m.About+": "+m.Reason, ": "))
	}
	return strings.Join(out, "; ")
}

// InventoryQualityCSV writes the results of water quality of an inventory as a
// table: values in the unit of each report, which stands beside them.
func (d *Desk) InventoryQualityCSV(ctx context.Context, actor records.Actor, inv *Inventory, out io.Writer) error {
	if _, err := d.inventoryOut(actor, inv); err != nil {
		return err
	}
	rows := [][]string{qualityHead}
	for i := range inv.Wells {
		if err := ctx.Err(); err != nil {
			return err
		}
		w := &inv.Wells[i]
		for j := range w.Well.Quality {
			q := &w.Well.Quality[j]
			number := func(known bool, v float64) string {
				if !known {
					return ""
				}
				return strconv.FormatFloat(v, 'g', -1, 64)
			}
			field := ""
			if q.InField != nil {
				field = strconv.FormatBool(*q.InField)
			}
			rows = append(rows, []string{w.Well.UID, exchange.Guard(w.Well.Number), w.within(), strconv.FormatFloat(w.DistanceM, 'f', 2, 64), q.Date.String(), exchange.Guard(q.Kind),
				number(q.Value.Known(), float64(q.Value.Value)), number(q.Value.Qualifier == records.Between, float64(q.Value.High)), qualifierOf(q.Value.Qualifier),
				exchange.Guard(q.Unit), exchange.Guard(q.Value.Given.Text), exchange.Guard(q.Method), exchange.Guard(q.Lab), field})
		}
	}
	return csv.NewWriter(out).WriteAll(rows)
}

// InventoryGeoJSON writes the whole records of an inventory as a
// FeatureCollection, each with its distance, direction, and whether it lies
// within or may.
func (d *Desk) InventoryGeoJSON(ctx context.Context, actor records.Actor, inv *Inventory, out io.Writer) error {
	private, err := d.inventoryOut(actor, inv)
	if err != nil {
		return err
	}
	g := exchange.NewGeoJSON(out, exchange.Options{Private: private, Derived: d.vocabulary})
	for i := range inv.Wells {
		if err := ctx.Err(); err != nil {
			return err
		}
		w := &inv.Wells[i]
		c := *w.Well
		if !private {
			c.Attachments = nil // their names may say whose the well is
		}
		within, err := json.Marshal(w.within())
		if err != nil {
			return err
		}
		c.Extra = append(c.Extra[:len(c.Extra):len(c.Extra)],
			records.Member{Name: "inventory_within", JSON: string(within)},
			records.Member{Name: "inventory_distance_m", JSON: strconv.FormatFloat(w.DistanceM, 'f', 2, 64)},
			records.Member{Name: "inventory_bearing_deg", JSON: strconv.FormatFloat(w.BearingDeg, 'f', 1, 64)})
		if err := g.Write(&c); err != nil {
			return err
		}
	}
	return g.Close()
}
