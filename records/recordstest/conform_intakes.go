package recordstest

import (
	"context"
	"errors"
	"testing"

	"tallybook/records"
)

// ConformIntakes holds a store against what is asked of it for intakes: row
// reports, what a later copy says of records, and images of a source.
func ConformIntakes(t *testing.T, open Opener) {
	s := open(t)
	first, second := &records.Batch{Source: "a", State: "published", Read: 3, Accepted: 3}, &records.Batch{Source: "a", State: "staged"}
	kept, edited, out := Plain(), Plain(), Plain()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		err := tx.PutBatch(ctx, first)
		second.CopyOf = first.ID
		for _, w := range []*records.Well{kept, edited, out} {
			w.UID, w.Provenance = "", records.Provenance{Source: "batch", Batch: first.ID}
			w.Remarks = "as it came in"
			err = errors.Join(err, tx.PutWell(ctx, w, ""))
		}
		return errors.Join(err, tx.PutBatch(ctx, second))
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		edited.Remarks = "the office's words"
		return errors.Join(tx.PutWell(ctx, edited, "a correction"), tx.RemoveWell(ctx, out.ID, out.Revision, "no such well"))
	})
	sees := func(when, image string) {
		t.Helper()
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			w, err := v.SourceImage(ctx, edited.ID, 0)
			if err == nil && w.Remarks != image {
				t.Errorf("%s: the source's image says %q, want %q", when, w.Remarks, image)
			}
			before, err2 := v.SourceImage(ctx, edited.ID, second.ID)
			if err2 == nil && before.Remarks != "as it came in" {
				t.Errorf("%s: before the copy the image says %q", when, before.Remarks)
			}
			var ids []int64
			outs := 0
			err3 := v.SourceImages(ctx, []int64{first.ID}, func(x *records.SourceImage) error {
				ids = append(ids, x.WellID)
				if x.Out {
					outs++
				}
				if x.WellID == edited.ID && x.Image.Remarks != image {
					t.Errorf("%s: listed as %q, want %q", when, x.Image.Remarks, image)
				}
				return nil
			})
			if len(ids) != 3 || ids[0] != kept.ID || ids[1] != edited.ID || ids[2] != out.ID || outs != 1 {
				t.Errorf("%s: the source's records are %v, %d of them taken out", when, ids, outs)
			}
			none := v.SourceImages(ctx, nil, func(*records.SourceImage) error { return errStop })
			copies, err5 := v.CopiesOf(ctx, edited.ID)
			if published := image == "as the copy has it"; published != (len(copies) == 1) || published && (copies[0].Batch != second.ID || copies[0].Wrote != 2 || copies[0].Row != 7) {
				t.Errorf("%s: copies say of it %+v", when, copies)
			}
			there, written, err4 := v.IntakeStanding(ctx, first.ID)
			if there != 2 || written != 1 {
				t.Errorf("%s: %d there, %d written since", when, there, written)
			}
			return errors.Join(err, err2, err3, none, err4, err5)
		})
	}
	sees("before the copy", "as it came in")
	conformChanges(t, s, second, edited, kept)
	sees("staged", "as it came in")
	second.State, second.Read, second.Accepted, second.Changed, second.Clashes, second.Gone, second.Same = "published", 5, 4, 1, 2, 3, 1
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, second) })
	sees("published", "as the copy has it")
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.Batches(ctx)
		if len(all) != 2 || all[1].CopyOf != first.ID || all[1].Changed != 1 || all[1].Clashes != 2 || all[1].Gone != 3 || all[1].Same != 1 || all[0].CopyOf != 0 {
			t.Errorf("the intakes are %+v", all)
		}
		return err
	})
	second.State = "withdrawn"
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, second) })
	sees("taken back", "as it came in")
	conformReports(t, s, first.ID)
}

func conformChanges(t *testing.T, s records.Store, copyOf *records.Batch, edited, kept *records.Well) {
	t.Helper()
	image := *edited
	image.Remarks = "as the copy has it"
	differs := records.CopyChange{Batch: copyOf.ID, WellID: edited.ID, Row: 7, What: records.CopyDiffers, Image: &image}
	gone := records.CopyChange{Batch: copyOf.ID, WellID: kept.ID, What: records.CopyGone}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutCopyChange(ctx, &differs), tx.PutCopyChange(ctx, &gone))
	})
	differs.Wrote, differs.Clashes = 2, []byte(`[{"field":"remarks"}]`)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutCopyChange(ctx, &differs) })
	for what, c := range map[string]records.CopyChange{
		"neither":           {Batch: copyOf.ID, WellID: kept.ID, What: "new"},
		"differs, no image": {Batch: copyOf.ID, WellID: kept.ID, What: records.CopyDiffers},
		"gone, an image":    {Batch: copyOf.ID, WellID: kept.ID, What: records.CopyGone, Image: &image},
		"of no intake":      {Batch: 999, WellID: kept.ID, What: records.CopyGone},
	} {
		refused(t, s, what, records.Invalid, func(ctx context.Context, tx records.StoreTx) error { return tx.PutCopyChange(ctx, &c) })
	}
	undone(t, s, func(ctx context.Context, tx records.StoreTx) error {
		other := differs
		other.Row = 8
		return tx.PutCopyChange(ctx, &other)
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.CopyChanges(ctx, copyOf.ID, -1, 10)
		if len(all) != 2 || all[0].WellID != kept.ID || all[0].Image != nil || all[0].What != records.CopyGone || all[1].Row != 7 || all[1].Wrote != 2 ||
			string(all[1].Clashes) != string(differs.Clashes) || all[1].Image.Remarks != image.Remarks {
			t.Errorf("the copy says %+v", all)
		}
		one, err2 := v.CopyChanges(ctx, copyOf.ID, kept.ID, 1)
		if len(one) != 1 || one[0].WellID != edited.ID {
			t.Errorf("above the first it says %+v", one)
		}
		return errors.Join(err, err2)
	})
}

func conformReports(t *testing.T, s records.Store, batch int64) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		if _, err := v.IntakeReport(ctx, batch); records.CodeOf(err) != records.NotFound {
			t.Errorf("a report that was not kept: %v", err)
		}
		return nil
	})
	r := records.IntakeReport{Batch: batch, About: []byte(`{"listed":1}`), Rows: []byte{1, 0, 2}}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutIntakeReport(ctx, &r) })
	r.Refused = []byte{3}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutIntakeReport(ctx, &r) })
	refused(t, s, "of no intake", records.Invalid, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutIntakeReport(ctx, &records.IntakeReport{Batch: 999, About: []byte("{}")})
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		have, err := v.IntakeReport(ctx, batch)
		if err == nil && (string(have.About) != string(r.About) || string(have.Rows) != string(r.Rows) || string(have.Refused) != string(r.Refused)) {
			t.Errorf("the report came back as %+v", have)
		}
		return err
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutSetting(ctx, "mapping:b", "{}"), tx.PutSetting(ctx, "mapping:a", "[]"), tx.PutSetting(ctx, "mapping", "1"), tx.PutSetting(ctx, "other:mapping:", "2"))
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.SettingsNamed(ctx, "mapping:")
		if len(all) != 2 || all[0].Name != "mapping:a" || all[0].Value != "[]" || all[1].Name != "mapping:b" || all[1].Revision != 1 || all[1].By != Writer().Name {
			t.Errorf("settings of that name: %+v", all)
		}
		return err
	})
}
