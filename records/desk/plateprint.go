package desk

import (
	"context"
	"fmt"
	"strings"

	"tallybook/records"
)

// SettingPlateFormat is how the office makes its plates, see
// records.PlateFormat.
const SettingPlateFormat = "plate_format"

var plateFormatDocument = document[records.PlateFormat]{SettingPlateFormat, records.ParsePlateFormat, records.PlateFormat.AppendJSON}

// PlateFormat is how the office makes its plates.
func (d *Desk) PlateFormat(ctx context.Context, actor records.Actor) (Kept[records.PlateFormat], error) {
	return plateFormatDocument.read(ctx, d, actor)
}

// SavePlateFormat keeps it, as SaveRates does the rates.
func (d *Desk) SavePlateFormat(ctx context.Context, actor records.Actor, f records.PlateFormat, revision int64, why string) (int64, error) {
	return plateFormatDocument.save(ctx, d, actor, f, revision, why)
}

// ToPrint is what a plate is made from: a plate on record, the record that it
// is linked to, or both.
type ToPrint struct {
	Number string
	Plate  *records.Plate // nil: there is none on record yet
	Well   *records.Well  // nil: the plate is linked to none
}

// PlateToPrint opens a plate with the record that it is linked to.
func (d *Desk) PlateToPrint(ctx context.Context, actor records.Actor, id int64) (ToPrint, error) {
	return look(ctx, d, actor, func(v records.StoreView) (ToPrint, error) { return plateToPrint(ctx, v, id) })
}

// WellToPrint opens a record for a plate that bears its own number.
func (d *Desk) WellToPrint(ctx context.Context, actor records.Actor, id int64) (ToPrint, error) {
	return look(ctx, d, actor, func(v records.StoreView) (ToPrint, error) {
		w, err := v.Well(ctx, id)
		if err != nil {
			return ToPrint{}, err
		}
		return ToPrint{Number: w.Number, Well: w}, nil
	})
}

func plateToPrint(ctx context.Context, v records.StoreView, id int64) (ToPrint, error) {
	p, err := v.Plate(ctx, id)
	if err != nil {
		return ToPrint{}, err
	}
	out := ToPrint{Number: p.Number, Plate: p}
	if p.WellID != 0 {
		out.Well, err = v.Well(ctx, p.WellID)
	}
	return out, err
}

// MostToPrint is how many plates are printed at once.
const MostToPrint = 500

// NumbersToPrint finds plates and records by their numbers, in the order given.
// A plate comes before a record of the same number; what is not found, or is
// found more than once, has a fault and no place in the list.
func (d *Desk) NumbersToPrint(ctx context.Context, actor records.Actor, numbers []string) (found []ToPrint, faults []records.Fault, err error) {
	if len(numbers) > MostToPrint {
		return nil, nil, records.Errorf(records.TooLarge, "%d plates are too many at once: print at most %d, and then the rest", len(numbers), MostToPrint)
	}
	found, err = look(ctx, d, actor, func(v records.StoreView) (out []ToPrint, err error) {
		for _, n := range numbers {
			p, why, err := numberToPrint(ctx, v, n)
			if err != nil {
				return nil, err
			}
			if why != "" {
				mend := "open the plate or the record and print it from there"
				if why == unknownNumber {
					mend = "look at the digits again"
				}
				faults = append(faults, records.Fault{Severity: records.Refusal, Field: n, Message: why, Mend: mend})
				continue
			}
			out = append(out, p)
		}
		return out, nil
	})
	return found, faults, err
}

const unknownNumber = "is the number of no plate and of no record"

func numberToPrint(ctx context.Context, v records.StoreView, number string) (p ToPrint, why string, err error) {
	if strings.Contains(number, "?") {
		return p, "is not a whole number: '?' stands for a digit that could not be read", nil
	}
	matches, err := v.NumbersLike(ctx, number, 8)
	if err != nil {
		return p, "", err
	}
	var plates, wells []int64
	for _, m := range matches {
		switch {
		case strings.Contains(m.Text, "?"): // may be this one
		case m.PlateID != 0:
			plates = append(plates, m.PlateID)
		case m.WellID != 0:
			wells = append(wells, m.WellID)
		}
	}
	switch {
	case len(plates) == 1:
		p, err = plateToPrint(ctx, v, plates[0])
		return p, "", err
	case len(plates) > 1:
		return p, fmt.Sprintf("is the number of %d plates", len(plates)), nil
	case len(wells) == 1:
		w, err := v.Well(ctx, wells[0])
		if err != nil {
			return p, "", err
		}
		return ToPrint{Number: w.Number, Well: w}, "", nil
	case len(wells) > 1:
		return p, fmt.Sprintf("is the number of %d records", len(wells)), nil
	}
	return p, unknownNumber, nil
}

// MakePlate puts a plate that is made for a record on record, linked to it.
// p.Number is its number, p.Stamped what it says. revision is that of the record
// whose figures it bears: they must still be those.
func (d *Desk) MakePlate(ctx context.Context, actor records.Actor, wellID, revision int64, p *records.Plate) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	if p.Number = strings.Join(strings.Fields(p.Number), " "); p.Number == "" || strings.Contains(p.Number, "?") {
		return &records.Error{Code: records.Invalid, Field: "number", Message: "a plate that is made needs a whole number: write one"}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		w, err := tx.Well(ctx, wellID)
		if err != nil {
			return err
		}
		if w.Revision != revision {
			return records.Errorf(records.Conflict, "the record was changed meanwhile: look at the plate again, since its figures may be others now")
		}
		matches, err := tx.NumbersLike(ctx, p.Number, 20)
		if err != nil {
			return err
		}
		for _, m := range matches {
			if m.PlateID != 0 && !strings.Contains(m.Text, "?") {
				return records.Errorf(records.Conflict, "there is a plate %s already: give this one another number, or print that one again", m.Text)
			}
		}
		const made = "made by this office for the record"
		next := *p
		next.ID, next.Revision, next.WellID = 0, 0, 0
		if err := tx.PutPlate(ctx, &next, made); err != nil {
			return err
		}
		*p = next
		link := records.PlateDecision{PlateID: p.ID, State: records.PlateLinked, WellUID: w.UID, Evidence: made, Why: made}
		if err := tx.DecidePlate(ctx, &link); err != nil {
			return err
		}
		linked, err := tx.Plate(ctx, p.ID)
		if err == nil {
			*p = *linked
		}
		return err
	})
}

// UnmakePlate takes a plate out again that was made a moment ago and that nobody
// has touched since.
func (d *Desk) UnmakePlate(ctx context.Context, actor records.Actor, id, revision int64) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error {
		return tx.RemovePlate(ctx, id, revision, "taken out again: it was not to be made")
	})
}
