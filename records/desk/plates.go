package desk

import (
	"context"
	"fmt"

	"tallybook/records"
)

// Plate opens one plate: what is stamped on it, where it was seen, and the
// well that somebody decided it belongs to. Who saw it is blanked for those
// who may not see people.
func (d *Desk) Plate(ctx context.Context, actor records.Actor, id int64) (*records.Plate, error) {
	p, err := look(ctx, d, actor, func(v records.StoreView) (*records.Plate, error) { return v.Plate(ctx, id) })
	if err == nil {
		d.hideFinder(actor, p)
	}
	return p, err
}

// PlateIDByUID finds a plate by its public name.
func (d *Desk) PlateIDByUID(ctx context.Context, actor records.Actor, uid string) (int64, error) {
	return look(ctx, d, actor, func(v records.StoreView) (int64, error) { return v.PlateIDByUID(ctx, uid) })
}

// KeepPlate writes what is stamped on a plate and where it was seen, new (ID 0)
// or changed, and tells its faults; one that refuses it keeps it out. It never
// changes what was decided: the link stays as it is.
func (d *Desk) KeepPlate(ctx context.Context, actor records.Actor, p *records.Plate, why string) ([]records.Fault, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	faults := p.Validate(d.Validation())
	if p.Number == "" && !stampedAny(&p.Stamped) {
		faults = append(faults, records.Fault{Severity: records.Refusal, Field: "number", Message: "neither a number nor anything stamped is given",
			Mend: "type what can be read, with ? for each digit that cannot"})
	}
	if err := records.FaultError(faults); err != nil {
		return faults, err
	}
	return faults, d.update(ctx, actor, func(tx records.StoreTx) error {
		p.WellID, p.Evidence, p.LinkedBy = 0, "", ""
		if p.ID != 0 {
			was, err := tx.Plate(ctx, p.ID)
			if err != nil {
				return err
			}
			p.UID, p.WellID, p.Evidence, p.LinkedBy, p.LinkedAt = was.UID, was.WellID, was.Evidence, was.LinkedBy, was.LinkedAt
			if d.Permit(actor, SeePrivate) != nil { // who saw it was not shown, and is not lost
				for i := range min(len(p.Seen), len(was.Seen)) {
					p.Seen[i].By = was.Seen[i].By
				}
			}
		}
		return tx.PutPlate(ctx, p, why)
	})
}

// stampedAny says whether anything is known of what is stamped.
func stampedAny(s *records.Stamped) bool {
	return !s.Date.IsZero() || s.Depth.Known() || s.Casing.Known() || s.Diameter.Known() || s.Yield.Known() || s.Static.Known() || s.PumpDepth.Known() || s.Driller != "" || len(s.Extra) > 0
}

// RemovePlate takes a plate out; its last state is kept and can be restored.
func (d *Desk) RemovePlate(ctx context.Context, actor records.Actor, id, revision int64, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.RemovePlate(ctx, id, revision, why) })
}

// PlateRevisions lists the earlier states of a plate, the latest first.
func (d *Desk) PlateRevisions(ctx context.Context, actor records.Actor, id int64) ([]records.Earlier[records.Plate], error) {
	revs, err := look(ctx, d, actor, func(v records.StoreView) ([]records.Earlier[records.Plate], error) {
		return v.PlateRevisions(ctx, id)
	})
	for _, r := range revs {
		d.hideFinder(actor, r.Image)
	}
	return revs, err
}

// PlateDecisions lists what was decided of a plate, the latest first.
func (d *Desk) PlateDecisions(ctx context.Context, actor records.Actor, id int64) ([]records.PlateDecision, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]records.PlateDecision, error) { return v.PlateDecisions(ctx, id) })
}

// RestorePlate makes an earlier state of what was seen the current one; current
// is the revision that the person saw. What was decided stays as it is. One
// that was taken out comes back as a new one under its public name, whose key is
// given, with the link that it had while its well is there.
func (d *Desk) RestorePlate(ctx context.Context, actor records.Actor, id, revision, current int64) (restored int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		revs, err := tx.PlateRevisions(ctx, id)
		if err != nil {
			return err
		}
		for _, r := range revs {
			if r.Revision != revision {
				continue
			}
			p := r.Image
			was, err := tx.Plate(ctx, id)
			switch {
			case err == nil:
				p.ID, p.Revision = id, current
				p.WellID, p.Evidence, p.LinkedBy, p.LinkedAt = was.WellID, was.Evidence, was.LinkedBy, was.LinkedAt
			case records.CodeOf(err) == records.NotFound:
				p.ID, p.Revision = 0, 0
				if _, err := tx.Well(ctx, p.WellID); p.WellID != 0 && err != nil {
					if records.CodeOf(err) != records.NotFound {
						return err
					}
					p.WellID, p.Evidence, p.LinkedBy = 0, "", ""
				}
			default:
				return err
			}
			err = tx.PutPlate(ctx, p, fmt.Sprintf("revision %d restored", revision))
			restored = p.ID
			return err
		}
		return records.Errorf(records.NotFound, "there is no earlier state with the revision %d", revision)
	})
	return restored, err
}

// hideFinder blanks who saw plates for those who may not see people.
func (d *Desk) hideFinder(actor records.Actor, list ...*records.Plate) {
	if d.Permit(actor, SeePrivate) == nil {
		return
	}
	for _, p := range list {
		for i := range p.Seen {
			p.Seen[i].By = ""
		}
	}
}
