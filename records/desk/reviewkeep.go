package desk

import (
	"context"
	"fmt"

	"tallybook/records"
	"tallybook/records/review"
)

// KeepReview works a review to its end and keeps it.
func (d *Desk) KeepReview(ctx context.Context, actor records.Actor, s *review.Settings, title, author, note string) (*records.Review, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	doc, err := d.Review(ctx, actor, s, nil)
	if err != nil {
		return nil, err
	}
	doc.Title, doc.Author, doc.Note = title, author, note
	return d.KeepReviewDocument(ctx, actor, doc)
}

// KeepReviewDocument keeps a review that was worked before.
func (d *Desk) KeepReviewDocument(ctx context.Context, actor records.Actor, doc *review.Document) (*records.Review, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	text, err := doc.Bytes()
	if err != nil {
		return nil, err
	}
	r := &records.Review{Title: doc.Title, Author: doc.Author, Note: doc.Note, DataCommit: doc.Data.Commit, Digest: doc.Data.Digest, Wells: int64(doc.Data.Wells), Document: text}
	if err := records.FaultError(r.Validate()); err != nil {
		return nil, err
	}
	return r, d.update(ctx, actor, func(tx records.StoreTx) error { return tx.KeepReview(ctx, r) })
}

// KeptReviews lists the kept reviews, the latest first, without their numbers.
func (d *Desk) KeptReviews(ctx context.Context, actor records.Actor) ([]*records.Review, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]*records.Review, error) { return v.Reviews(ctx) })
}

// KeptReview opens a kept review.
func (d *Desk) KeptReview(ctx context.Context, actor records.Actor, id int64) (*records.Review, *review.Document, error) {
	r, err := look(ctx, d, actor, func(v records.StoreView) (*records.Review, error) { return v.Review(ctx, id) })
	if err != nil {
		return nil, nil, err
	}
	doc, err := review.Parse(r.Document)
	if err != nil {
		return nil, nil, err
	}
	return r, doc, nil
}

// WithdrawReview withdraws a kept review, or takes that back. revision is that
// of the state that the person saw, 0 where there was none.
func (d *Desk) WithdrawReview(ctx context.Context, actor records.Actor, id, revision int64, withdrawn bool, why string) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	s := &records.ReviewState{Revision: revision, Withdrawn: withdrawn, Why: why}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.DecideReview(ctx, id, s) })
}

// ReviewedSince is what became of the records of a review since it was made.
type ReviewedSince struct {
	Same      bool // they say the same as then
	WellsThen int
	WellsNow  int
	Words     bool // logs are read by other words now
}

// String says it in a sentence.
func (s ReviewedSince) String() string {
	switch n := s.WellsNow - s.WellsThen; {
	case s.Same && s.Words:
		return "The records are the same as then, but logs are read by other words now."
	case s.Same:
		return "The records are the same as then."
	case n == 1:
		return "The data have changed since: 1 well more."
	case n > 1:
		return fmt.Sprintf("The data have changed since: %d wells more.", n)
	case n == -1:
		return "The data have changed since: 1 well fewer."
	case n < 0:
		return fmt.Sprintf("The data have changed since: %d wells fewer.", -n)
	}
	return "The data have changed since: as many wells, but what they say differs."
}

// ReviewSince holds the records of today against those of a review. What only
// whole records say is not looked at before the review is worked again.
func (d *Desk) ReviewSince(actor records.Actor, doc *review.Document) (ReviewedSince, error) {
	if err := d.Permit(actor, Look); err != nil {
		return ReviewedSince{}, err
	}
	if err := doc.Settings.Check(d.vocabulary); err != nil {
		return ReviewedSince{}, err
	}
	in, err := d.reviewInput(doc.Settings)
	if err != nil {
		return ReviewedSince{}, err
	}
	return ReviewedSince{
		Same: in.data.Digest == doc.Data.Digest, Words: in.data.Words != doc.Data.Words,
		WellsThen: doc.Data.Wells, WellsNow: in.data.Wells,
	}, nil
}
