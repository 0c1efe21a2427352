package desk

import (
	"context"
	"encoding/json"
	"slices"

	"github.com/google/uuid"

	"tallybook/records"
)

// PlateCall is a decision about one plate as a person makes it.
type PlateCall struct {
	PlateID  int64
	Revision int64 // of the latest decision that the person saw
	WellID   int64 // to be linked to, or refused
	Why      string
}

// PlateDone is what was decided: its name, to undo it by, and of how many
// plates.
type PlateDone struct {
	Act    string
	Plates []int64
}

// LinkPlates links plates to wells, all or none, undone as one.
func (d *Desk) LinkPlates(ctx context.Context, actor records.Actor, calls []PlateCall) (*PlateDone, error) {
	return d.decidePlates(ctx, actor, calls, func(tx records.StoreTx, c PlateCall, was *records.PlateDecision) (records.PlateDecision, error) {
		uid, err := wellUID(ctx, tx, c.WellID)
		next := records.PlateDecision{State: records.PlateLinked, WellUID: uid, Evidence: c.Why}
		next.Refused = slices.DeleteFunc(slices.Clone(was.Refused), func(no string) bool { return no == uid })
		return next, err
	})
}

// RefusePlate says that a plate is not that of a well: the two are not proposed
// to each other again. A link between them is undone by it.
func (d *Desk) RefusePlate(ctx context.Context, actor records.Actor, c PlateCall) (*PlateDone, error) {
	return d.decidePlates(ctx, actor, []PlateCall{c}, func(tx records.StoreTx, c PlateCall, was *records.PlateDecision) (records.PlateDecision, error) {
		uid, err := wellUID(ctx, tx, c.WellID)
		next := records.PlateDecision{State: was.State, WellUID: was.WellUID, Evidence: was.Evidence, Refused: slices.Clone(was.Refused)}
		if next.WellUID == uid {
			next.State, next.WellUID, next.Evidence = records.PlateOpen, "", ""
		}
		if !slices.Contains(next.Refused, uid) {
			next.Refused = append(next.Refused, uid)
		}
		return next, err
	})
}

// SetPlate puts a plate aside (records.PlateLater), says that its well has no
// record (records.PlateNoRecord), or opens it again (records.PlateOpen). A link
// is undone by each.
func (d *Desk) SetPlate(ctx context.Context, actor records.Actor, c PlateCall, state string) (*PlateDone, error) {
	return d.decidePlates(ctx, actor, []PlateCall{c}, func(_ records.StoreTx, _ PlateCall, was *records.PlateDecision) (records.PlateDecision, error) {
		return records.PlateDecision{State: state, Refused: was.Refused}, nil
	})
}

// ExchangePlates gives each of two plates the link of the other, in one
// transaction: they were fixed to each other's well, or linked so.
func (d *Desk) ExchangePlates(ctx context.Context, actor records.Actor, a, b PlateCall) (*PlateDone, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	if a.PlateID == b.PlateID {
		return nil, records.Errorf(records.Invalid, "a plate cannot be exchanged with itself; choose another one")
	}
	var before map[int64]records.PlateDecision
	return d.decidePlates(ctx, actor, []PlateCall{a, b}, func(tx records.StoreTx, c PlateCall, was *records.PlateDecision) (records.PlateDecision, error) {
		if before == nil { // read before the first of the two is written
			before = map[int64]records.PlateDecision{}
			for _, id := range []int64{a.PlateID, b.PlateID} {
				s, err := tx.PlateState(ctx, id)
				if err != nil {
					return records.PlateDecision{}, err
				}
				link, err := linkNow(ctx, tx, &s)
				if err != nil {
					return records.PlateDecision{}, err
				}
				before[id] = link
			}
			if before[a.PlateID].WellUID == "" && before[b.PlateID].WellUID == "" {
				return records.PlateDecision{}, records.Errorf(records.Invalid, "neither of the two plates is linked to a record: there is nothing to exchange")
			}
			if before[a.PlateID].WellUID == before[b.PlateID].WellUID {
				return records.PlateDecision{}, records.Errorf(records.Invalid, "both plates are linked to the same record: there is nothing to exchange")
			}
		}
		other := before[a.PlateID+b.PlateID-c.PlateID]
		next := records.PlateDecision{State: other.State, WellUID: other.WellUID, Evidence: other.Evidence}
		if next.WellUID != "" && c.Why != "" {
			next.Evidence = c.Why
		}
		next.Refused = slices.DeleteFunc(slices.Clone(was.Refused), func(no string) bool { return no == next.WellUID })
		return next, nil
	})
}

// UndoPlates makes what was decided as one not hold any more: each of its plates
// goes back to how it stood before. A plate about which something was decided
// since is an Error with code Conflict, and nothing is undone.
func (d *Desk) UndoPlates(ctx context.Context, actor records.Actor, act string) (*PlateDone, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	done := &PlateDone{}
	var err error
	if done.Act, err = newAct(); err != nil {
		return nil, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		rows, err := tx.PlateAct(ctx, act)
		if err != nil {
			return err
		}
		if len(rows) == 0 {
			return records.Errorf(records.NotFound, "there is nothing of that name to undo")
		}
		done.Plates = done.Plates[:0]
		for i := range rows {
			if err := undoOne(ctx, tx, &rows[i], done.Act); err != nil {
				return err
			}
			done.Plates = append(done.Plates, rows[i].PlateID)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return done, nil
}

// undoOne writes the state before a decision again.
func undoOne(ctx context.Context, tx records.StoreTx, row *records.PlateDecision, act string) error {
	list, err := tx.PlateDecisions(ctx, row.PlateID)
	if err != nil {
		return err
	}
	if list[0].Revision != row.Revision {
		return records.Errorf(records.Conflict, "something else was decided since of one of these plates: open it and decide it there")
	}
	for i := range list {
		if list[i].Revision >= row.Revision {
			continue
		}
		next := list[i]
		next.Revision, next.Act, next.Why = row.Revision, act, "undone"
		if next.Evidence == "" && next.WellUID != "" {
			next.Evidence = list[i].Why
		}
		err := tx.DecidePlate(ctx, &next)
		if records.CodeOf(err) == records.NotFound && err != nil && next.WellUID != "" {
			return records.Errorf(records.Conflict, "the record that the plate was linked to before is no longer there: it cannot be undone")
		}
		return err
	}
	return records.Errorf(records.NotFound, "it is not known how the plate stood before")
}

// decidePlates makes decisions as one. What each is asked of decide, which is
// given what held before; the reasons are worked out first, of the data as they
// stand, and kept with each.
func (d *Desk) decidePlates(ctx context.Context, actor records.Actor, calls []PlateCall,
	decide func(tx records.StoreTx, c PlateCall, was *records.PlateDecision) (records.PlateDecision, error)) (*PlateDone, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	if len(calls) == 0 {
		return nil, records.Errorf(records.Invalid, "no plate was chosen")
	}
	ids := make([]int64, len(calls))
	for i, c := range calls {
		if ids[i] = c.PlateID; slices.Contains(ids[:i], c.PlateID) {
			return nil, records.Errorf(records.Invalid, "plate no. %d is named twice", c.PlateID)
		}
	}
	found, err := d.candidates(ctx, ids)
	if err != nil {
		return nil, err
	}
	done := &PlateDone{Plates: ids}
	if done.Act, err = newAct(); err != nil {
		return nil, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		for _, c := range calls {
			was, err := tx.PlateState(ctx, c.PlateID)
			if err != nil {
				return err
			}
			holds, err := linkNow(ctx, tx, &was)
			if err != nil {
				return err
			}
			next, err := decide(tx, c, &holds)
			if err != nil {
				return err
			}
			next.PlateID, next.Revision, next.Why, next.Act = c.PlateID, c.Revision, c.Why, done.Act
			if next.Reasons, next.Candidates, err = reasonsAsTheyStand(found[c.PlateID]); err != nil {
				return err
			}
			if err := tx.DecidePlate(ctx, &next); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return done, nil
}

// linkNow is what holds of a plate, though its link may have been changed with
// the record since the latest decision.
func linkNow(ctx context.Context, v records.StoreView, s *records.PlateState) (records.PlateDecision, error) {
	holds := records.PlateDecision{State: s.State(), Refused: s.Decision.Refused}
	if s.WellID == 0 {
		return holds, nil
	}
	p, err := v.Plate(ctx, s.ID)
	if err != nil {
		return holds, err
	}
	holds.Evidence = p.Evidence
	holds.WellUID, err = wellUID(ctx, v, s.WellID)
	return holds, err
}

func wellUID(ctx context.Context, v records.StoreView, id int64) (string, error) {
	w, err := v.Well(ctx, id)
	if err != nil {
		return "", err
	}
	return w.UID, nil
}

// newAct names what is decided as one.
func newAct() (string, error) {
	id, err := uuid.NewV7()
	return id.String(), err
}

// reasonsAsTheyStand writes down which wells were proposed and why.
func reasonsAsTheyStand(found []PlateCandidate) (reasons string, uids []string, err error) {
	if len(found) == 0 {
		return "", nil, nil
	}
	for _, c := range found {
		uids = append(uids, c.WellUID)
	}
	text, err := json.Marshal(found)
	return string(text), uids, err
}
