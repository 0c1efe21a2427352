package desk

import (
	"context"
	"encoding/json"
	"errors"

	"tallybook/records"
	"tallybook/records/importer"
)

// ChooseSent keeps what a person chose of a file: by which mapping it is read
// ("" as guessed), under which name that is kept, and of which intake it is a
// later copy. revision is that of the choice that the person saw.
func (d *Desk) ChooseSent(ctx context.Context, actor records.Actor, token string, revision int64, mapping *importer.Mapping, named string, copyOf int64) (*Sent, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	if s.Revision != revision {
		return nil, records.Errorf(records.Conflict, "the columns of this file were mapped anew meanwhile, in another window or by somebody else: look at them again")
	}
	if w := d.works.of(token); w != nil && !w.Over() {
		return nil, records.Errorf(records.Busy, "the file is being worked on; wait until that is done, or cancel it")
	}
	s.Mapping, s.Named, s.CopyOf = "", named, copyOf
	if mapping != nil {
		s.Mapping = string(mapping.JSON())
	}
	s.Revision++
	s.Rehearsed = nil
	return s, d.putSent(s)
}

// openSent opens a file that was sent, by the mapping that was chosen.
func (d *Desk) openSent(s *Sent) (*importer.Source, error) {
	path, err := d.sentPath(s.Token)
	if err != nil {
		return nil, err
	}
	o, err := d.sentOptions(s)
	if err != nil {
		return nil, err
	}
	return importer.Open(path, o)
}

func (d *Desk) sentOptions(s *Sent) (importer.Options, error) {
	o := importer.Options{Name: s.Name, Validate: d.Validation()}
	if s.Mapping != "" {
		m, err := importer.ReadMapping([]byte(s.Mapping))
		if err != nil {
			return o, err
		}
		o.Mapping = m
	}
	return o, nil
}

// RehearseSent begins to rehearse a file that was sent. It goes on in the
// background: see IntakeWork and SentReport.
func (d *Desk) RehearseSent(ctx context.Context, actor records.Actor, token string) error {
	s, err := d.waiting(ctx, actor, token)
	if err != nil {
		return err
	}
	return d.works.begin(ctx, IntakeWork{Token: token, Name: s.Name, Begun: d.now(), Size: s.Size}, func(ctx context.Context, progress func(read, size, rows int64)) (int64, error) {
		return 0, d.rehearseSent(ctx, actor, s, progress)
	})
}

// waiting is a file that was sent and not accepted.
func (d *Desk) waiting(ctx context.Context, actor records.Actor, token string) (*Sent, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err == nil && s.Batch != 0 {
		err = records.Errorf(records.Conflict, "this file was accepted already, as intake %d", s.Batch)
	}
	return s, err
}

func (d *Desk) rehearseSent(ctx context.Context, actor records.Actor, s *Sent, progress func(read, size, rows int64)) error {
	if err := d.guessMapping(s); err != nil {
		return err
	}
	src, err := d.openSent(s)
	if err != nil {
		return err
	}
	tally, kept, err := d.rehearse(ctx, actor, Intake{Source: src, Name: s.Name, Progress: progress, CopyOf: s.CopyOf, Mapping: s.Mapping, Named: s.Named})
	if err := errors.Join(err, src.Close()); err != nil {
		return err
	}
	text, err := json.Marshal(kept)
	if err != nil {
		return err
	}
	if err := d.writeSent(s.Token, sentReport, text); err != nil {
		return err
	}
	now, err := d.SentFile(ctx, actor, s.Token)
	if err != nil {
		return err
	}
	now.Mapping = s.Mapping
	now.Rehearsed = &Rehearsed{At: d.now().UTC(), Tally: *tally}
	return d.putSent(now)
}

// guessMapping has a table that nobody mapped read as it seems to be.
func (d *Desk) guessMapping(s *Sent) error {
	if s.Mapping != "" {
		return nil
	}
	path, err := d.sentPath(s.Token)
	if err != nil {
		return err
	}
	l, err := importer.LookAt(path, importer.Options{Name: s.Name, Validate: d.Validation()})
	if err != nil || l.Format == importer.GeoJSON {
		return err
	}
	s.Mapping = string(importer.Guess(l).JSON())
	return nil
}

// SentReport is the row report of the last rehearsal of a file; NotFound
// where it was not rehearsed since its columns were mapped.
func (d *Desk) SentReport(ctx context.Context, actor records.Actor, token string) (*Report, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	if s.Rehearsed == nil {
		return nil, records.Errorf(records.NotFound, "the file was not rehearsed since its columns were mapped")
	}
	text, err := d.readSent(token, sentReport)
	if err != nil {
		return nil, err
	}
	kept := &records.IntakeReport{}
	if err := json.Unmarshal(text, kept); err != nil {
		return nil, records.WrapError(records.Internal, err, "the row report cannot be read; rehearse the file again")
	}
	return d.report(actor, kept)
}

// AcceptSent begins to take in a file that was sent and rehearsed. revision is
// that of the choice that was rehearsed.
func (d *Desk) AcceptSent(ctx context.Context, actor records.Actor, token string, revision int64) error {
	s, err := d.waiting(ctx, actor, token)
	switch {
	case err != nil:
		return err
	case s.Revision != revision:
		return records.Errorf(records.Conflict, "the columns of this file were mapped anew meanwhile: rehearse it again before it is accepted")
	case s.Rehearsed == nil:
		return records.Errorf(records.Conflict, "the file was not rehearsed since its columns were mapped: do that first")
	}
	return d.works.begin(ctx, IntakeWork{Token: token, Name: s.Name, Accept: true, Begun: d.now(), Size: s.Size}, func(ctx context.Context, progress func(read, size, rows int64)) (int64, error) {
		return d.acceptSent(ctx, actor, s, progress)
	})
}

func (d *Desk) acceptSent(ctx context.Context, actor records.Actor, s *Sent, progress func(read, size, rows int64)) (int64, error) {
	src, err := d.openSent(s)
	if err != nil {
		return 0, err
	}
	b, err := d.TakeIn(ctx, actor, Intake{Source: src, Name: s.Name, Progress: progress, CopyOf: s.CopyOf, Mapping: s.Mapping, Named: s.Named})
	if err := errors.Join(err, src.Close()); err != nil {
		return 0, err
	}
	// It is in, whatever becomes of the file that was sent.
	s.Batch = b.ID
	if err := d.putSent(s); err != nil {
		d.log.Warn("noting that a file was taken in", "err", err)
	}
	if err := d.removeSentFile(s.Token); err != nil {
		d.log.Warn("taking away a file that was taken in", "err", err)
	}
	return b.ID, nil
}

// IntakeReport is the row report of an intake; NotFound where none was kept,
// as of those taken in by earlier versions of the program.
func (d *Desk) IntakeReport(ctx context.Context, actor records.Actor, batch int64) (*Report, error) {
	kept, err := look(ctx, d, actor, func(v records.StoreView) (*records.IntakeReport, error) { return v.IntakeReport(ctx, batch) })
	if err != nil {
		return nil, err
	}
	return d.report(actor, kept)
}

// Intake is one file that was taken in.
func (d *Desk) Intake(ctx context.Context, actor records.Actor, id int64) (*records.Batch, error) {
	all, err := d.Intakes(ctx, actor)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].ID == id {
			return &all[i], nil
		}
	}
	return nil, records.Errorf(records.NotFound, "there is no intake %d", id)
}
