package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"tallybook/records"
	"tallybook/records/importer"
)

// PlatesBrought is what came of a table of plates: rows read = new + seen again
// + refused, always.
type PlatesBrought struct {
	Read, New, SeenAgain int64
	Refused              []importer.PlateRow
	Warned               int64
}

// mostPlateRows is how many rows are taken at once: they are written in one
// transaction.
const mostPlateRows = 200_000

// BringPlates takes in a table of plates, in one transaction: all rows that are
// not refused, or none. With rehearse nothing is written. A row whose number one
// plate has already, and that does not contradict what is stamped on it, is that
// plate seen again.
func (d *Desk) BringPlates(ctx context.Context, actor records.Actor, r io.Reader, o importer.PlateOptions, rehearse bool) (*PlatesBrought, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	table, err := importer.OpenPlateTable(r, o)
	if err != nil {
		return nil, err
	}
	var rows []*importer.PlateRow
	for {
		row, err := table.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, records.WrapError(records.Invalid, err, "the file could not be read to its end")
		}
		if row.Plate != nil {
			row.Faults = append(row.Faults, row.Plate.Validate(d.Validation())...)
		}
		if rows = append(rows, row); len(rows) > mostPlateRows {
			return nil, records.Errorf(records.TooLarge, "the file holds more than %d plates; cut it in two", mostPlateRows)
		}
	}
	out := &PlatesBrought{}
	write := func(tx records.StoreTx) error {
		*out = PlatesBrought{Read: int64(len(rows))}
		known := knownPlates{}
		if err := tx.EachPlateState(ctx, func(p *records.PlateState) error {
			known.add(p.Number, p.ID)
			return nil
		}); err != nil {
			return err
		}
		for _, row := range rows {
			taken := *row // what the store finds wrong is found anew each time
			again, err := bringPlate(ctx, tx, &taken, known)
			switch {
			case err != nil:
				return err
			case taken.Refused():
				out.Refused = append(out.Refused, taken)
				continue
			case again:
				out.SeenAgain++
			default:
				out.New++
			}
			if len(taken.Faults) > 0 {
				out.Warned++
			}
		}
		if rehearse {
			return errEnough
		}
		return nil
	}
	if err = d.update(ctx, actor, write); errors.Is(err, errEnough) {
		err = nil
	}
	if err != nil {
		return nil, err
	}
	return out, nil
}

// knownPlates are the plates on record, and those that came before in the table,
// by number.
type knownPlates map[string][]int64

var bareNumber = strings.NewReplacer(" ", "", "-", "", ".", "")

func (k knownPlates) add(number string, id int64) {
	if number != "" {
		key := strings.ToUpper(bareNumber.Replace(number))
		k[key] = append(k[key], id)
	}
}

func (k knownPlates) numbered(number string) []int64 {
	return k[strings.ToUpper(bareNumber.Replace(number))]
}

// bringPlate writes one row, or says in it why not.
func bringPlate(ctx context.Context, tx records.StoreTx, row *importer.PlateRow, plates knownPlates) (again bool, err error) {
	if row.Refused() {
		return false, nil
	}
	refuse := func(field, message, mend string) {
		row.Faults = append(row.Faults[:len(row.Faults):len(row.Faults)], records.Fault{Severity: records.Refusal, Field: field, Message: message, Mend: mend})
	}
	p := *row.Plate
	if id, err := tx.PlateIDByUID(ctx, p.UID); err == nil {
		refuse("", fmt.Sprintf("the very same row is on record already, as plate no. %d", id), "leave it out")
		return false, nil
	} else if records.CodeOf(err) != records.NotFound {
		return false, err
	}
	known, err := samePlates(ctx, tx, &p, plates)
	if err != nil {
		return false, err
	}
	switch len(known) {
	case 0:
		err := tx.PutPlate(ctx, &p, "")
		plates.add(p.Number, p.ID)
		return false, err
	case 1:
		was := known[0]
		if len(p.Seen) == 0 {
			refuse("number", fmt.Sprintf("plate %s is on record already, and the row says nothing of where or when it was seen again", was.Number), "leave it out, or say where and when it was seen")
			return false, nil
		}
		for _, s := range was.Seen {
			if sameSighting(&s, &p.Seen[0]) {
				refuse("seen", fmt.Sprintf("plate %s has this sighting already", was.Number), "leave it out")
				return false, nil
			}
		}
		was.Seen = append(was.Seen, p.Seen...)
		return true, tx.PutPlate(ctx, was, "seen again")
	}
	refuse("number", fmt.Sprintf("%d plates on record have the number %s: it cannot be told which of them was seen", len(known), p.Number), "enter it by hand at the plate that it is")
	return false, nil
}

// sameSighting says whether two sightings say the same of when and where.
func sameSighting(a, b *records.PlateSighting) bool {
	return a.Date == b.Date && a.Located == b.Located && a.Lon == b.Lon && a.Lat == b.Lat
}

// samePlates are the plates on record that a row may be of: every digit of the
// number the same and legible, and nothing stamped that contradicts.
func samePlates(ctx context.Context, v records.StoreView, p *records.Plate, plates knownPlates) ([]*records.Plate, error) {
	if strings.Contains(p.Number, "?") {
		return nil, nil // it may be any of several
	}
	var out []*records.Plate
	for _, id := range plates.numbered(p.Number) {
		known, err := v.Plate(ctx, id)
		if err != nil {
			return nil, err
		}
		if (p.Authority == "" || known.Authority == "" || strings.EqualFold(p.Authority, known.Authority)) && !contradicts(&known.Stamped, &p.Stamped) {
			out = append(out, known)
		}
	}
	return out, nil
}

// contradicts says whether two readings of a plate cannot be of the same one.
func contradicts(a, b *records.Stamped) bool {
	return !a.Date.IsZero() && !b.Date.IsZero() && a.Date != b.Date || apart(a.Depth, b.Depth) || apart(a.Casing, b.Casing) ||
		apart(a.Diameter, b.Diameter) || apart(a.Yield, b.Yield) || apart(a.Static, b.Static) || apart(a.PumpDepth, b.PumpDepth)
}

// apart says whether two quantities are both known and not the same, but for
// rounding from one unit to another.
func apart[T ~float64](a, b records.Amount[T]) bool {
	if !a.Known() || !b.Known() {
		return false
	}
	if a.Qualifier != b.Qualifier {
		return true
	}
	far := float64(a.Value - b.Value)
	return far*far > 1e-6*(1+float64(a.Value*a.Value))
}
