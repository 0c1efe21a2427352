package desk

import (
	"context"
	"time"

	"tallybook/records"
	"tallybook/records/scout"
)

// Kept is a document of the office as it stands: what could be read of it, and
// what is wrong with it.
type Kept[T any] struct {
	Value    T
	Text     string // as it is stored; "" where it was never set
	Faults   []records.Fault
	Revision int64 // 0: it is not set
	At       time.Time
	By       string
}

// document is how a setting with a form of its own is read and written.
type document[T any] struct {
	name  string
	parse func([]byte) (T, []records.Fault)
	write func(T, []byte) []byte
}

var (
	ratesDocument    = document[scout.Rates]{SettingRates, scout.ParseRates, scout.Rates.AppendJSON}
	practiceDocument = document[scout.Practice]{SettingPractice, scout.ParsePractice, scout.Practice.AppendJSON}
	rulesDocument    = document[scout.RuleTable]{SettingLocalRules, scout.ParseRules, scout.RuleTable.AppendJSON}
)

func (doc *document[T]) read(ctx context.Context, d *Desk, actor records.Actor) (k Kept[T], err error) {
	v, err := d.Setting(ctx, actor, doc.name)
	if err != nil || v.Value == "" {
		return k, err
	}
	k = Kept[T]{Text: v.Value, Revision: v.Revision, At: v.At, By: v.By}
	k.Value, k.Faults = doc.parse([]byte(v.Value))
	return k, nil
}

// save refuses what the document's own reader would refuse, so that what is
// stored can be used as it stands.
func (doc *document[T]) save(ctx context.Context, d *Desk, actor records.Actor, value T, revision int64, why string) (int64, error) {
	text := doc.write(value, nil)
	_, faults := doc.parse(text)
	if err := records.FaultError(faults); err != nil {
		return 0, err
	}
	v := records.SettingValue{Name: doc.name, Value: string(text), Revision: revision}
	err := d.SaveSetting(ctx, actor, &v, why)
	return v.Revision, err
}

// Rates are the contractor's prices.
func (d *Desk) Rates(ctx context.Context, actor records.Actor) (Kept[scout.Rates], error) {
	return ratesDocument.read(ctx, d, actor)
}

// SaveRates keeps a rate table that nothing refuses; revision is the one that
// the person saw, 0 where there was none. It gives the new revision.
func (d *Desk) SaveRates(ctx context.Context, actor records.Actor, r scout.Rates, revision int64, why string) (int64, error) {
	return ratesDocument.save(ctx, d, actor, r, revision, why)
}

// Practice is how the office makes its holes.
func (d *Desk) Practice(ctx context.Context, actor records.Actor) (Kept[scout.Practice], error) {
	return practiceDocument.read(ctx, d, actor)
}

// SavePractice keeps the practice, as SaveRates does the rates.
func (d *Desk) SavePractice(ctx context.Context, actor records.Actor, p scout.Practice, revision int64, why string) (int64, error) {
	return practiceDocument.save(ctx, d, actor, p, revision, why)
}

// LocalRules are the distances that the office asks for.
func (d *Desk) LocalRules(ctx context.Context, actor records.Actor) (Kept[scout.RuleTable], error) {
	return rulesDocument.read(ctx, d, actor)
}

// SaveLocalRules keeps the distances, as SaveRates does the rates.
func (d *Desk) SaveLocalRules(ctx context.Context, actor records.Actor, t scout.RuleTable, revision int64, why string) (int64, error) {
	return rulesDocument.save(ctx, d, actor, t, revision, why)
}

// SetInventedOffice gives an office that has none the invented rates, practice
// and distances, each of which says that it is invented.
func (d *Desk) SetInventedOffice(ctx context.Context, actor records.Actor) error {
	const why = "invented for a demonstration"
	if _, err := d.SaveRates(ctx, actor, scout.InventedRates(), 0, why); err != nil {
		return err
	}
	if _, err := d.SavePractice(ctx, actor, scout.InventedPractice(), 0, why); err != nil {
		return err
	}
	_, err := d.SaveLocalRules(ctx, actor, scout.InventedRules(), 0, why)
	return err
}
