package desk

import (
	"context"
	"slices"
	"strings"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// Judged is what came of a pick or a mark: the record's revisions ahead of it
// and behind it, to undo it by (Restore).
type Judged struct {
	Was, Revision int64
	Faults        []records.Fault // what is to be looked at in it
}

// AddPick puts an own pick beside the driller's log. A pick of bedrock takes
// the place of an earlier one in the same set; the earlier image is kept. Who
// picked it is as given, else the actor; when is today. revision is what the
// person saw of the record.
func (d *Desk) AddPick(ctx context.Context, actor records.Actor, id, revision int64, p records.OwnPick) (*Judged, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	p.Set, p.Reason, p.By = oneLine(p.Set), strings.TrimSpace(p.Reason), orActor(p.By, actor)
	p.Date = d.Validation().Today
	switch {
	case p.Set == "":
		return nil, &records.Error{Code: records.Invalid, Field: "set", Message: "give the set of picks a name, such as 'first reading'"}
	case len(p.Set) > mostSetName:
		return nil, &records.Error{Code: records.Invalid, Field: "set", Message: "the name of a set is too long: 60 letters are enough"}
	case !slices.Contains(records.OwnPickWords(), p.Of):
		return nil, &records.Error{Code: records.Invalid, Field: "of", Message: "say what is picked: bedrock, or water"}
	case !p.Depth.Known():
		return nil, &records.Error{Code: records.Invalid, Field: "depth", Message: "give the depth down from ground, such as 42, ~42, >60 or 12.5 m"}
	case p.Reason == "":
		return nil, &records.Error{Code: records.Invalid, Field: "reason", Message: "say why: a pick without a reason convinces nobody"}
	}
	why := "own pick of bedrock in '" + p.Set + "'"
	if p.Of == records.PickStrike {
		why = "own pick of water in '" + p.Set + "'"
	}
	return d.judge(ctx, actor, id, revision, why, func(w *records.Well) error {
		if p.Of == records.PickBedrock {
			w.OwnPicks = slices.DeleteFunc(w.OwnPicks, func(o records.OwnPick) bool { return o.Of == records.PickBedrock && o.Set == p.Set })
		}
		w.OwnPicks = append(w.OwnPicks, p)
		return nil
	})
}

// mostSetName is how long the name of a set may be, bytes.
const mostSetName = 120

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func orActor(by string, actor records.Actor) string {
	if by = oneLine(by); by != "" {
		return by
	}
	return actor.Name
}

// DropPick takes an own pick out of a record, by its place in the list.
func (d *Desk) DropPick(ctx context.Context, actor records.Actor, id, revision int64, at int) (*Judged, error) {
	return d.judge(ctx, actor, id, revision, "own pick taken out", func(w *records.Well) error {
		if at < 0 || at >= len(w.OwnPicks) {
			return records.Errorf(records.NotFound, "the record has no own pick %d", at+1)
		}
		w.OwnPicks = slices.Delete(w.OwnPicks, at, at+1)
		return nil
	})
}

// MarkUnreliable marks something in a record as not to be relied on. A mark on
// the same thing takes the earlier one's place.
func (d *Desk) MarkUnreliable(ctx context.Context, actor records.Actor, id, revision int64, m records.Doubt) (*Judged, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	m.Reason, m.By, m.Date = strings.TrimSpace(m.Reason), orActor(m.By, actor), d.Validation().Today
	switch {
	case !slices.Contains(records.DoubtWords(), m.About):
		return nil, &records.Error{Code: records.Invalid, Field: "about", Message: "say what is not to be relied on: all of it, the strata, the yield or the position"}
	case m.Reason == "":
		return nil, &records.Error{Code: records.Invalid, Field: "reason", Message: "say why it is not to be relied on"}
	}
	return d.judge(ctx, actor, id, revision, "marked unreliable: "+m.Reason, func(w *records.Well) error {
		w.Mark(m)
		return nil
	})
}

// Unmark takes a mark off a record, by its place in the list.
func (d *Desk) Unmark(ctx context.Context, actor records.Actor, id, revision int64, at int) (*Judged, error) {
	return d.judge(ctx, actor, id, revision, "no longer marked unreliable", func(w *records.Well) error {
		if at < 0 || at >= len(w.Unreliable) {
			return records.Errorf(records.NotFound, "the record has no mark %d", at+1)
		}
		w.Unreliable = slices.Delete(w.Unreliable, at, at+1)
		return nil
	})
}

// judge changes a record that stands at a revision. A change that would make it
// one that cannot be admitted is refused.
func (d *Desk) judge(ctx context.Context, actor records.Actor, id, revision int64, why string, change func(*records.Well) error) (*Judged, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	out := &Judged{Was: revision}
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		w, err := tx.Well(ctx, id)
		if err != nil {
			return err
		}
		if w.Revision != revision {
			return records.Errorf(records.Conflict, "the record was changed by somebody else meanwhile (you saw revision %d, it is now at %d): look at it again, then judge it", revision, w.Revision)
		}
		before := w.Validate(d.Validation())
		if err := change(w); err != nil {
			return err
		}
		out.Faults = newFaults(before, w.Validate(d.Validation()))
		if err := records.FaultError(out.Faults); err != nil {
			return err
		}
		err = tx.PutWell(ctx, w, why)
		out.Revision = w.Revision
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// MarkedWell is a record of which something is marked unreliable.
type MarkedWell struct {
	Well  *records.Well
	Marks []records.Doubt
}

// Marked lists the records of which something is marked unreliable, in the order
// of their keys, skip of them left out ahead; all counts every one.
func (d *Desk) Marked(ctx context.Context, actor records.Actor, skip, most int) (list []MarkedWell, all int, err error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, 0, err
	}
	var ids []int64
	d.Picture().EachMarked(func(r snapshot.Row) bool { ids = append(ids, r.ID()); return true })
	slices.Sort(ids)
	all = len(ids)
	ids = ids[min(max(skip, 0), all):min(max(skip, 0)+most, all)]
	sheets, err := d.Wells(ctx, actor, ids)
	if err != nil {
		return nil, 0, err
	}
	for _, s := range sheets {
		list = append(list, MarkedWell{s.Well, s.Well.Unreliable})
	}
	return list, all, nil
}
