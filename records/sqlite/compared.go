package sqlite

import (
	"context"
	"database/sql"

	"tallybook/records"
)

// comparedAtOnce is how many records are in hand at a time.
const comparedAtOnce = 4096

// Compared implements records.ComparedView.
func (v *view) Compared(ctx context.Context, fn func([]records.Compared) error) error {
	var first, last sql.NullInt64
	if _, err := v.one(ctx, "SELECT min(id), max(id) FROM wells", nil, &first, &last); err != nil || !last.Valid {
		return err
	}
	var room []records.Compared
	for from := first.Int64; from <= last.Int64; from += comparedAtOnce {
		err := v.parseAll(ctx, from, from+comparedAtOnce-1, v.staged, nil, func(n int) func(int, *records.Well) {
			if cap(room) < n {
				room = make([]records.Compared, n)
			}
			room = room[:n]
			return func(i int, w *records.Well) { room[i] = w.Comparison() }
		})
		if err != nil {
			return err
		}
		if len(room) == 0 {
			continue
		}
		if err := fn(room); err != nil {
			return err
		}
	}
	return nil
}
