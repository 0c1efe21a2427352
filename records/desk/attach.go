package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tallybook/records"
)

// Attached is a file that a record names, with what is kept of it.
type Attached struct {
	records.Attachment
	Content records.Content
	Here    bool // its content is kept in this database
}

// AttachFile is a file that is to be attached.
type AttachFile struct {
	Name string // as it came
	Note string
	Data []byte
}

// MostAttachments is how many files one record names.
const MostAttachments = 100

// PermitAttached says whether an actor may see what is attached: owners' names
// and addresses stand on scanned logs.
func (d *Desk) PermitAttached(actor records.Actor) error { return d.Permit(actor, SeePrivate) }

// Attachments lists what a record names, in its own order.
func (d *Desk) Attachments(ctx context.Context, actor records.Actor, wellID int64) (out []Attached, err error) {
	if err := d.PermitAttached(actor); err != nil {
		return nil, err
	}
	return look(ctx, d, actor, func(v records.StoreView) ([]Attached, error) {
		w, err := v.Well(ctx, wellID)
		if err != nil || len(w.Attachments) == 0 {
			return nil, err
		}
		var hashes []string
		for _, a := range w.Attachments {
			hashes = append(hashes, a.SHA256)
		}
		kept, err := v.Contents(ctx, hashes)
		if err != nil {
			return nil, err
		}
		for _, a := range w.Attachments {
			c, here := kept[a.SHA256]
			out = append(out, Attached{a, c, here})
		}
		return out, nil
	})
}

// OpenAttachment opens what a record, or an earlier state of it, names. It has
// to be closed.
func (d *Desk) OpenAttachment(ctx context.Context, actor records.Actor, wellID int64, sha256 string) (a records.Attachment, c records.OpenContent, err error) {
	if err := d.PermitAttached(actor); err != nil {
		return a, c, err
	}
	if err := d.Permit(actor, Look); err != nil {
		return a, c, err
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		found, err := namedBy(ctx, v, wellID, sha256)
		if err != nil {
			return err
		}
		a = *found
		c, err = v.OpenContent(ctx, sha256)
		return err
	})
	return a, c, err
}

// namedBy finds a file among those that a record names or has named.
func namedBy(ctx context.Context, v records.StoreView, wellID int64, sha256 string) (*records.Attachment, error) {
	in := func(w *records.Well) *records.Attachment {
		for i := range w.Attachments {
			if w.Attachments[i].SHA256 == sha256 {
				return &w.Attachments[i]
			}
		}
		return nil
	}
	w, err := v.Well(ctx, wellID)
	switch {
	case records.CodeOf(err) == records.NotFound && err != nil: // taken out: its earlier states are there
	case err != nil:
		return nil, err
	default:
		if a := in(w); a != nil {
			return a, nil
		}
	}
	revs, err := v.Revisions(ctx, wellID)
	if err != nil {
		return nil, err
	}
	for _, r := range revs {
		if a := in(r.Image); a != nil {
			return a, nil
		}
	}
	return nil, records.Errorf(records.NotFound, "the record has no such file attached")
}

// Attach keeps files and has a record name them, all of them or none. It adds to
// the record as it stands now, and gives the revisions before and after. added
// is 0 where all were attached already.
func (d *Desk) Attach(ctx context.Context, actor records.Actor, wellID int64, files []AttachFile) (before, after int64, added int, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, 0, 0, err
	}
	if err := d.PermitAttached(actor); err != nil {
		return 0, 0, 0, err
	}
	for _, f := range files { // before anything is written
		switch {
		case len(f.Data) > records.MostAttached:
			return 0, 0, 0, records.TooLargeAttached(f.Name)
		case records.KindOf(f.Data) == "":
			e := records.KindRefused(f.Data)
			return 0, 0, 0, records.Errorf(e.Code, "%q: %s", clipName(f.Name), e.Message)
		}
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		w, err := tx.Well(ctx, wellID)
		if err != nil {
			return err
		}
		before, after, added = w.Revision, w.Revision, 0
		var names []string
		for _, f := range files {
			c, err := tx.KeepContent(ctx, f.Data)
			if err != nil {
				return err
			}
			if slices.ContainsFunc(w.Attachments, func(a records.Attachment) bool { return a.SHA256 == c.SHA256 }) {
				continue
			}
			a := records.Attachment{Name: records.AttachedName(f.Name, c.Kind), Kind: c.Kind, SHA256: c.SHA256, Note: strings.TrimSpace(f.Note)}
			w.Attachments = append(w.Attachments, a)
			names = append(names, a.Name)
			added++
		}
		if len(w.Attachments) > MostAttachments {
			return records.Errorf(records.TooLarge, "a record names at most %d files: take some out first, or put several pages into one PDF", MostAttachments)
		}
		if added == 0 {
			return nil
		}
		if err := tx.PutWell(ctx, w, "attached "+strings.Join(names, ", ")); err != nil {
			return err
		}
		after = w.Revision
		return nil
	})
	return before, after, added, err
}

func clipName(name string) string {
	if r := []rune(name); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return name
}

// Detach has a record name a file no longer. Its content stays, for the earlier
// states that name it. It gives the revisions before and after.
func (d *Desk) Detach(ctx context.Context, actor records.Actor, wellID int64, sha256 string) (before, after int64, err error) {
	if err := d.Permit(actor, Edit); err != nil {
		return 0, 0, err
	}
	if err := d.PermitAttached(actor); err != nil {
		return 0, 0, err
	}
	err = d.update(ctx, actor, func(tx records.StoreTx) error {
		w, err := tx.Well(ctx, wellID)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(w.Attachments, func(a records.Attachment) bool { return a.SHA256 == sha256 })
		if i < 0 {
			return records.Errorf(records.NotFound, "the file is not attached any more: somebody took it out meanwhile")
		}
		before = w.Revision
		why := fmt.Sprintf("took out %s", w.Attachments[i].Name)
		w.Attachments = slices.Delete(w.Attachments, i, i+1)
		if err := tx.PutWell(ctx, w, why); err != nil {
			return err
		}
		after = w.Revision
		return nil
	})
	return before, after, err
}
