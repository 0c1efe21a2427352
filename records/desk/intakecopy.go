package desk

import (
	"context"
	"fmt"
	"hash/maphash"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/records/importer"
)

// CopyClash is a property of which a later copy of a source and the office say
// different things, both otherwise than the copy before. The office's stands
// until somebody decides.
type CopyClash struct {
	Field   string    `json:"field"` // "": the record as a whole
	Before  string    `json:"before"`
	Office  string    `json:"office"`
	Copy    string    `json:"copy"`
	Private bool      `json:"private,omitempty"`
	Chosen  string    `json:"chosen,omitempty"` // "office" or "copy"; "": left
	By      string    `json:"by,omitempty"`
	At      time.Time `json:"at,omitzero"`
	Wrote   int64     `json:"wrote,omitempty"` // the revision that came of the choice
}

// laterCopy compares a later copy of a source, row by row, with the records
// that came in from the source before. What it remembers grows with the
// records: about two hundred bytes for each.
type laterCopy struct {
	d     *Desk
	chain []int64 // the intakes of the source
	seed  maphash.Seed
	keys  map[uint64]int64 // records by what a source calls them; 0: several
	ids   map[int64]int64  // the records that are there, and the row that speaks of each; 0: none yet
	out   map[int64]bool   // records that the office took out
	named bool             // the source gives its features identifiers
}

// beginCopy reads what a source said so far; nil where of is 0.
func (d *Desk) beginCopy(ctx context.Context, of int64) (*laterCopy, error) {
	if of == 0 {
		return nil, nil
	}
	c := &laterCopy{d: d, seed: maphash.MakeSeed(), keys: map[uint64]int64{}, ids: map[int64]int64{}, out: map[int64]bool{}}
	return c, d.store.View(ctx, func(v records.StoreView) error {
		all, err := v.Batches(ctx)
		if err != nil {
			return err
		}
		if c.chain, err = copiesOf(all, of); err != nil {
			return err
		}
		return v.SourceImages(ctx, c.chain, func(s *records.SourceImage) error {
			if s.Out {
				c.out[s.WellID] = true
			} else {
				c.ids[s.WellID] = 0
			}
			c.named = c.named || s.Image.Provenance.SourceID != ""
			for _, k := range c.keysOf(s.Image) {
				if other, there := c.keys[k]; there && other != s.WellID {
					c.keys[k] = 0
				} else {
					c.keys[k] = s.WellID
				}
			}
			return nil
		})
	})
}

// copiesOf lists the intakes that are of the same source as one of them and
// stand.
func copiesOf(all []records.Batch, of int64) ([]int64, error) {
	byID := map[int64]*records.Batch{}
	for i := range all {
		byID[all[i].ID] = &all[i]
	}
	b := byID[of]
	if b == nil {
		return nil, records.Errorf(records.NotFound, "there is no intake %d", of)
	}
	if b.State != "published" {
		return nil, records.Errorf(records.Conflict, "intake %d was taken back: a file cannot be compared with it", of)
	}
	root := func(b *records.Batch) int64 {
		for i := 0; i < len(all) && b.CopyOf != 0 && byID[b.CopyOf] != nil; i++ {
			b = byID[b.CopyOf]
		}
		return b.ID
	}
	var out []int64
	for i := range all {
		if all[i].State == "published" && root(&all[i]) == root(b) {
			out = append(out, all[i].ID)
		}
	}
	return out, nil
}

// The sorts of names by which a record of a source is known again, the surest
// first.
const (
	byUID = iota
	byID
	byNumberHere
	byNumber
	byPermit
	byPlace
	nameSorts
)

// keysOf are the names of a record, each hashed; 0 where it has none of a
// sort.
func (c *laterCopy) keysOf(w *records.Well) [nameSorts]uint64 {
	var keys [nameSorts]uint64
	set := func(sort int, parts ...string) {
		var h maphash.Hash
		h.SetSeed(c.seed)
		h.WriteByte(byte(sort)) //nolint:errcheck // never fails
		for _, p := range parts {
			if p == "" {
				return
			}
			h.WriteString(p)  //nolint:errcheck // never fails
			h.WriteByte(0xff) //nolint:errcheck // never fails
		}
		keys[sort] = h.Sum64()
	}
	at := ""
	if w.Place.Located {
		at = strconv.FormatFloat(w.Place.Lon, 'f', 5, 64) + " " + strconv.FormatFloat(w.Place.Lat, 'f', 5, 64)
	}
	number, permit := plainNumber(w.Number), plainNumber(w.PermitNumber)
	set(byUID, w.UID)
	set(byID, w.Provenance.SourceID)
	set(byNumberHere, number, at)
	set(byNumber, number)
	set(byPermit, permit)
	if number == "" && permit == "" {
		set(byPlace, at)
	}
	return keys
}

func plainNumber(s string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "-", "", ".", "").Replace(s))
}

// match finds the record that a row speaks of: 0 where it is new. several
// says that it cannot be told which of some it is.
func (c *laterCopy) match(w *records.Well) (id int64, several bool) {
	for sort, k := range c.keysOf(w) {
		if k == 0 {
			continue
		}
		id, there := c.keys[k]
		switch {
		case there && id != 0:
			return id, false
		case there && sort == byNumberHere || there && sort == byUID:
			return 0, true
		case there:
			several = true
		case sort == byID && c.named:
			return 0, false // the source knows its own: this one is new
		}
	}
	return 0, several
}

// refused notes a row that is kept out: its record is not gone all the same.
func (c *laterCopy) refused(r *importer.Row) {
	if c == nil || r.Well == nil {
		return
	}
	if id, _ := c.match(r.Well); id != 0 && !c.out[id] && c.ids[id] == 0 {
		c.ids[id] = r.Number
	}
}

// row compares a row. It tells whether the row speaks of a record that came
// in before, and is done with; where tx is not nil what it says is staged.
func (c *laterCopy) row(ctx context.Context, v records.StoreView, r *importer.Row, b *records.Batch, tx records.StoreTx) (known bool, err error) {
	refuse := func(message, mend string) (bool, error) {
		r.Faults = append(r.Faults, records.Fault{Severity: records.Refusal, Message: message, Mend: mend})
		return true, nil
	}
	id, several := c.match(r.Well)
	switch {
	case several:
		return refuse("several records of this source have its number: it cannot be told which of them the row speaks of", "give the row its identifier or position as it was before")
	case id == 0:
		return false, nil
	case c.out[id]:
		return refuse("this record came in before, and the office has taken it out", "restore the record if it is to be there")
	case c.ids[id] != 0:
		return refuse(fmt.Sprintf("row %d spoke of the same record, %d", c.ids[id], id), "give each well of the file an identifier or number of its own")
	}
	c.ids[id] = r.Number
	base, err := v.SourceImage(ctx, id, 0)
	if err != nil {
		return true, err
	}
	image := *r.Well
	image.UID = base.UID
	image.Provenance.Source = base.Provenance.Source
	if len(records.Diff(base, &image)) == 0 {
		b.Same++
		return true, nil
	}
	if tx != nil {
		return true, tx.PutCopyChange(ctx, &records.CopyChange{Batch: b.ID, WellID: id, Row: r.Number, What: records.CopyDiffers, Image: &image})
	}
	stored, err := v.Well(ctx, id)
	if err != nil {
		return true, err
	}
	c.merge(base, &image, stored).count(b)
	return true, nil
}

// merged is what a record comes to when a later copy is brought in.
type merged struct {
	well    *records.Well
	changed bool
	clashes []CopyClash
}

func (m *merged) count(b *records.Batch) {
	if m.changed {
		b.Changed++
	} else {
		b.Same++
	}
	if len(m.clashes) > 0 {
		b.Clashes++
	}
}

// merge brings a copy's record into the one that is stored: a property follows
// the copy where the office did not touch it.
func (c *laterCopy) merge(base, image, stored *records.Well) *merged {
	// The sides of a merge: what is stored is "theirs", as the one that was
	// there first, and stands where nobody has chosen.
	well, clashes := records.Merge3(base, image, stored, func(string) records.Side { return records.Theirs })
	m := &merged{well: well, clashes: []CopyClash{}}
	for _, x := range clashes {
		m.clashes = append(m.clashes, CopyClash{Field: x.Field, Before: x.Base, Office: x.Theirs, Copy: x.Ours, Private: x.Private})
	}
	m.changed = len(records.Diff(stored, well)) > 0
	if m.changed {
		if err := records.FaultError(well.Validate(c.d.Validation())); err != nil {
			m.changed, m.well = false, stored
			m.clashes = append(m.clashes, CopyClash{Copy: "the record would not be valid with what the copy says: " + records.MessageOf(err)})
		}
	}
	return m
}

// goneCount is how many records of the source no row spoke of.
func (c *laterCopy) goneCount() (n int64) {
	for _, row := range c.ids {
		if row == 0 {
			n++
		}
	}
	return n
}
