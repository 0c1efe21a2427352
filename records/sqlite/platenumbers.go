package sqlite

import (
	"context"
	"database/sql"
	"strconv"
	"strings"

	"tallybook/records"
)

// unread marks a digit of a number that could not be read.
const unread = '?'

// NumbersLike implements records.PlateDeskView. What is legible before the
// first '?' is looked up in the index of numbers; the plates on record with
// digits unread are looked up by the length of their number.
func (v *view) NumbersLike(ctx context.Context, number string, limit int) ([]records.Match, error) {
	key := searchKey(number)
	if key == "" || limit <= 0 {
		return nil, nil
	}
	var exact, like []records.Match
	take := func(m records.Match) error {
		if searchKey(m.Text) == key {
			exact = append(exact, m)
		} else if numbersFit(key, searchKey(m.Text)) {
			like = append(like, m)
		}
		return nil
	}
	for _, find := range []func(context.Context, string, int, func(records.Match) error) error{v.platesLike, v.unreadPlates, v.wellsLike} {
		if err := find(ctx, key, limit, take); err != nil {
			return nil, err
		}
	}
	out := append(exact, like...)
	return out[:min(len(out), limit)], nil
}

// likeCondition is the SQL that picks the numbers which fit a key, and what it
// is asked with. With nothing unread that is the key itself; with the first
// digit unread every number is looked at, in the index.
func likeCondition(column, key string) (string, []any) {
	expression := keyOf(column)
	begins, _, partly := strings.Cut(key, string(unread))
	if !partly {
		return expression + " = ?1", []any{key}
	}
	pattern := strings.NewReplacer("[", "[[]", "*", "[*]").Replace(key)
	if begins == "" {
		return expression + " GLOB ?1", []any{pattern}
	}
	return expression + " >= ?2 AND " + expression + " < ?2 || char(1114111) AND " + expression + " GLOB ?1", []any{pattern, begins}
}

// platesLike finds the plates whose number as it is written fits.
func (v *view) platesLike(ctx context.Context, key string, limit int, take func(records.Match) error) error {
	where, args := likeCondition("p.number", key)
	return v.plateMatches(ctx, "p.number IS NOT NULL AND "+where+" ORDER BY "+keyOf("p.number")+", p.id", args, limit, take)
}

// unreadPlates finds the plates with digits unread whose number may be the one.
// Their numbers alone are looked at first, in the index.
func (v *view) unreadPlates(ctx context.Context, key string, limit int, take func(records.Match) error) error {
	partly := strings.ContainsRune(key, unread)
	var ids []string
	err := each(ctx, v, "SELECT p.id, p.number FROM plates p WHERE instr(p.number, '?') > 0 AND length("+keyOf("p.number")+") = length(?1)", []any{key}, func(rows *sql.Rows) error {
		var id int64
		var number string
		if err := rows.Scan(&id, &number); err != nil {
			return err
		}
		// platesLike has those that fit as they are written.
		own := searchKey(number)
		if len(ids) < limit && numbersFit(key, own) && own != key && !(partly && fitsAsWritten(key, own)) {
			ids = append(ids, strconv.FormatInt(id, 10))
		}
		return nil
	})
	if err != nil || len(ids) == 0 {
		return err
	}
	return v.plateMatches(ctx, "p.id IN ("+strings.Join(ids, ",")+") ORDER BY p.id", nil, limit, take)
}

// fitsAsWritten says whether a number is one that the pattern stands for, its own
// '?' being a sign like any other.
func fitsAsWritten(pattern, number string) bool {
	x, y := []rune(pattern), []rune(number)
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if x[i] != y[i] && x[i] != unread {
			return false
		}
	}
	return true
}

// plateMatches reads plates with the well that each is linked to.
func (v *view) plateMatches(ctx context.Context, where string, args []any, limit int, take func(records.Match) error) error {
	return each(ctx, v, "SELECT "+plateColumns+", ifnull(w.number, ''), w.geom, w.id FROM plates p LEFT JOIN wells w ON w.id = p.well_id"+v.staged+
		" WHERE "+where+" LIMIT "+strconv.Itoa(limit), args, func(rows *sql.Rows) error {
		m, err := v.scanPlateMatch(rows)
		if err != nil {
			return err
		}
		return take(m)
	})
}

// wellsLike finds the wells whose own number fits.
func (v *view) wellsLike(ctx context.Context, key string, limit int, take func(records.Match) error) error {
	where, args := likeCondition("w.number", key)
	return each(ctx, v, "SELECT w.id, w.number, w.geom FROM wells w WHERE w.number IS NOT NULL AND "+where+v.staged+
		" ORDER BY "+keyOf("w.number")+", w.id LIMIT "+strconv.Itoa(limit), args, func(rows *sql.Rows) error {
		m := records.Match{Kind: "well_number"}
		var geom []byte
		if err := rows.Scan(&m.WellID, &m.Text, &geom); err != nil {
			return err
		}
		locate(&m, geom)
		return take(m)
	})
}

// numbersFit says whether two numbers may be the same, '?' being any one sign.
func numbersFit(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if x[i] != y[i] && x[i] != unread && y[i] != unread {
			return false
		}
	}
	return true
}
