package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"tallybook/records"
)

// CopyRecord is a record of which a later copy of its source says something
// new.
type CopyRecord struct {
	WellID  int64
	Label   string // the record's number, or its key
	Gone    bool   // the copy has it no longer
	Out     bool   // the record itself was taken out
	Row     int64  // of the copy
	Wrote   int64  // the revision that came of it; 0: none
	Changes []records.Change
	Clashes []CopyClash
}

// CopyRecords lists what a later copy says of the records that were there: of
// those above after, at most most. only is "changed", "clashes" or "gone"; ""
// for all. more says that there are others behind them.
func (d *Desk) CopyRecords(ctx context.Context, actor records.Actor, batch int64, only string, after int64, most int) (out []CopyRecord, more bool, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, false, err
	}
	if after == 0 {
		after = math.MinInt64
	}
	private := d.Permit(actor, SeePrivate) == nil
	err = d.store.View(ctx, func(v records.StoreView) error {
		for {
			page, err := v.CopyChanges(ctx, batch, after, copyPage)
			if err != nil {
				return err
			}
			for i := range page {
				r, err := copyRecord(ctx, v, &page[i], private)
				if err != nil {
					return err
				}
				if only == "changed" && r.Wrote == 0 || only == "clashes" && len(r.Clashes) == 0 || only == "gone" && !r.Gone {
					continue
				}
				if len(out) == most {
					more = true
					return nil
				}
				out = append(out, *r)
			}
			if len(page) < copyPage {
				return nil
			}
			after = page[len(page)-1].WellID
		}
	})
	return out, more, err
}

func copyRecord(ctx context.Context, v records.StoreView, x *records.CopyChange, private bool) (*CopyRecord, error) {
	r := &CopyRecord{WellID: x.WellID, Label: fmt.Sprintf("no. %d", x.WellID), Gone: x.What == records.CopyGone, Row: x.Row, Wrote: x.Wrote}
	w, err := v.Well(ctx, x.WellID)
	switch {
	case records.CodeOf(err) == records.NotFound:
		r.Out = true
	case err != nil:
		return nil, err
	case w.Number != "":
		r.Label = w.Number
	}
	if err := json.Unmarshal(x.Clashes, &r.Clashes); err != nil {
		return nil, records.WrapError(records.Internal, err, "what the copy and the office say differently cannot be read")
	}
	if x.Image != nil && !r.Out {
		base, err := v.SourceImage(ctx, x.WellID, x.Batch)
		if err != nil {
			return nil, err
		}
		r.Changes = records.Diff(base, x.Image)
	}
	if !private {
		r.Changes = slices.DeleteFunc(r.Changes, func(c records.Change) bool { return c.Private })
		r.Clashes = slices.DeleteFunc(r.Clashes, func(c CopyClash) bool { return c.Private })
	}
	return r, nil
}

// WellCopy is what a later copy of its source says of one record.
type WellCopy struct {
	Batch int64
	Gone  bool // the copy has it no longer
	Wrote int64
	Open  int // properties that the office says otherwise, and nobody decided
}

// CopiesOf tells what later copies say of a record, the latest first.
func (d *Desk) CopiesOf(ctx context.Context, actor records.Actor, well int64) ([]WellCopy, error) {
	changes, err := look(ctx, d, actor, func(v records.StoreView) ([]records.CopyChange, error) { return v.CopiesOf(ctx, well) })
	if err != nil {
		return nil, err
	}
	private := d.Permit(actor, SeePrivate) == nil
	var out []WellCopy
	for i := range changes {
		x := &changes[i]
		c := WellCopy{Batch: x.Batch, Gone: x.What == records.CopyGone, Wrote: x.Wrote}
		var clashes []CopyClash
		if err := json.Unmarshal(x.Clashes, &clashes); err != nil {
			return nil, records.WrapError(records.Internal, err, "what a copy and the office say differently cannot be read")
		}
		for _, k := range clashes {
			if k.Chosen == "" && (private || !k.Private) {
				c.Open++
			}
		}
		out = append(out, c)
	}
	return out, nil
}

// DecideClash settles a property of which a later copy and the office say
// different things: "office" leaves the record as it is, "copy" sets the
// property as the copy has it, and "" takes the decision back, as long as
// nobody worked on the record since.
func (d *Desk) DecideClash(ctx context.Context, actor records.Actor, batch, well int64, field, choice string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	if choice != "" && choice != "office" && choice != "copy" {
		return &records.Error{Code: records.Invalid, Field: "choice", Message: "choose what the office has or what the copy has"}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		page, err := tx.CopyChanges(ctx, batch, well-1, 1)
		if err != nil {
			return err
		}
		gone := records.Errorf(records.NotFound, "intake %d says nothing of record %d that is to be decided", batch, well)
		if len(page) == 0 || page[0].WellID != well || page[0].Image == nil {
			return gone
		}
		x := &page[0]
		var clashes []CopyClash
		if err := json.Unmarshal(x.Clashes, &clashes); err != nil {
			return err
		}
		i := slices.IndexFunc(clashes, func(c CopyClash) bool { return c.Field == field && c.Field != "" })
		if i < 0 {
			return gone
		}
		c := &clashes[i]
		if c.Private && d.Permit(actor, SeePrivate) != nil {
			return gone
		}
		if c.Chosen == choice {
			return nil
		}
		if choice != "" && c.Chosen != "" {
			return records.Errorf(records.Conflict, "this was decided already, by %s: take that back first", c.By)
		}
		switch {
		case choice == "copy":
			err = d.takeCopys(ctx, tx, x, c)
		case choice == "" && c.Chosen == "copy":
			err = takeBackChoice(ctx, tx, x, c)
		}
		if err != nil {
			return err
		}
		c.Chosen, c.By, c.At = choice, actor.Name, tx.Now()
		if choice == "" {
			c.By, c.Wrote = "", 0
		}
		if x.Clashes, err = json.Marshal(clashes); err != nil {
			return err
		}
		return tx.PutCopyChange(ctx, x)
	})
}

// takeCopys sets one property of a record as a copy has it.
func (d *Desk) takeCopys(ctx context.Context, tx records.StoreTx, x *records.CopyChange, c *CopyClash) error {
	stored, err := tx.Well(ctx, x.WellID)
	if err != nil {
		return err
	}
	base, err := tx.SourceImage(ctx, x.WellID, x.Batch)
	if err != nil {
		return err
	}
	well, _ := records.Merge3(base, x.Image, stored, func(f string) records.Side {
		if f == c.Field {
			return records.Ours
		}
		return records.Theirs
	})
	changes := records.Diff(stored, well)
	for _, ch := range changes {
		if f, _, _ := strings.Cut(strings.NewReplacer("[", ".", "]", "").Replace(ch.Field), "."); !sameProperty(f, c.Field) {
			return records.Errorf(records.Conflict, "the record was worked on since, and %s cannot be taken alone any more: open the record and type it in", c.Field)
		}
	}
	if len(changes) == 0 {
		return records.Errorf(records.Conflict, "the record was worked on since and %s no longer differs as it did: look at the record", c.Field)
	}
	if err := records.FaultError(well.Validate(d.Validation())); err != nil {
		return err
	}
	if err := tx.PutWell(ctx, well, fmt.Sprintf("%s as intake %d has it", c.Field, x.Batch)); err != nil {
		return err
	}
	c.Wrote = well.Revision
	return nil
}

// sameProperty says whether a difference at the top property f may come of a
// choice about a field; a position is one choice with how it was given.
func sameProperty(f, field string) bool {
	head, _, _ := strings.Cut(strings.NewReplacer("[", ".", "]", "").Replace(field), ".")
	if head == "lon" || head == "lat" {
		switch f {
		case "lon", "lat", "coordinates_given", "datum", "located_by":
			return true
		}
		return strings.HasPrefix(f, "accuracy")
	}
	if head == "strikes" || head == "strikes_as" {
		return f == "strikes" || f == "strikes_as"
	}
	if head == "ground_elevation_m" || head == "vertical_datum" {
		return f == "ground_elevation_m" || f == "vertical_datum"
	}
	return f == head
}

// takeBackChoice sets a record back to what it was before a choice.
func takeBackChoice(ctx context.Context, tx records.StoreTx, x *records.CopyChange, c *CopyClash) error {
	stored, err := tx.Well(ctx, x.WellID)
	if err != nil {
		return err
	}
	if stored.Revision != c.Wrote {
		return records.Errorf(records.Conflict, "somebody worked on the record since: open it and change it there")
	}
	revs, err := tx.Revisions(ctx, x.WellID)
	if err != nil {
		return err
	}
	for _, r := range revs {
		if r.Revision == c.Wrote-1 {
			r.Image.ID, r.Image.Revision = x.WellID, stored.Revision
			return tx.PutWell(ctx, r.Image, "the choice was taken back")
		}
	}
	return records.Errorf(records.NotFound, "the record has no revision %d", c.Wrote-1)
}
