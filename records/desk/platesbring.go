package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
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
	// Table names what was taken in, to be taken back by UndoBrought; "" where
	// nothing was written.
	Table string
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
		if out.New+out.SeenAgain > 0 {
			out.Table = tablePrefix + strconv.FormatInt(tx.Commit(), 10)
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

// tablePrefix begins the name of a table that was taken in.
const tablePrefix = "table-"

// againWhy and backWhy are kept with the earlier states of plates.
const (
	againWhy = "seen again"
	backWhy  = "the table that it came in with was taken back"
)

// UndoBrought takes back what a table brought: new plates are taken out, and
// those seen again are as before. Plates that somebody worked on since are left.
func (d *Desk) UndoBrought(ctx context.Context, actor records.Actor, table string) (undone int, err error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return 0, err
	}
	number, is := strings.CutPrefix(table, tablePrefix)
	commit, err := strconv.ParseInt(number, 10, 64)
	if !is || err != nil || commit <= 0 {
		return 0, records.Errorf(records.Invalid, "%q is no table that was taken in", table)
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		undone = 0
		ids, err := tx.PlatesWritten(ctx, commit)
		if err != nil {
			return err
		}
		for _, id := range ids {
			done, err := undoBroughtOne(ctx, tx, id)
			if err != nil {
				return err
			}
			if done {
				undone++
			}
		}
		if undone == 0 {
			return records.Errorf(records.NotFound, "of %s there is nothing that could be taken back: somebody worked on its plates since, or it was taken back already", table)
		}
		return nil
	})
	return undone, err
}

// undoBroughtOne takes one plate back that a table brought.
func undoBroughtOne(ctx context.Context, tx records.StoreTx, id int64) (bool, error) {
	p, err := tx.Plate(ctx, id)
	if err != nil {
		return false, err
	}
	if p.Revision == 1 {
		return true, tx.RemovePlate(ctx, id, p.Revision, backWhy)
	}
	revs, err := tx.PlateRevisions(ctx, id)
	if err != nil || len(revs) == 0 || revs[0].Why != againWhy || revs[0].Revision != p.Revision-1 {
		return false, err
	}
	was := revs[0].Image
	was.ID, was.Revision, was.WellID, was.Evidence, was.LinkedBy, was.LinkedAt = id, p.Revision, p.WellID, p.Evidence, p.LinkedBy, p.LinkedAt
	return true, tx.PutPlate(ctx, was, backWhy)
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
	if _, err := tx.PlateIDByUID(ctx, p.UID); err == nil {
		refuse("", fmt.Sprintf("the very same row came before, here or in an earlier table: plate %s", p.Number), "leave it out")
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
		return true, tx.PutPlate(ctx, was, againWhy)
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
