package desk

import (
	"context"
	"errors"
	"slices"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
)

// Found is what the one field of the map leads to: a position, or matches
// among the office's own records and layers. Nothing is looked up elsewhere.
type Found struct {
	Position *position.Reading
	Matches  []records.Match
	// Doubt is why the text was not taken for a position, when it looked
	// like one; Suggest is what may have been meant.
	Doubt   string
	Suggest *position.LonLat
}

// Find reads text as a position in any form, a well number, a plate number,
// a permit, a parcel or a name from an imported layer.
func (d *Desk) Find(ctx context.Context, actor records.Actor, text string, limit int) (Found, error) {
	var f Found
	if err := d.Permit(actor, Look); err != nil {
		return f, err
	}
	text = strings.TrimSpace(text)
	if text == "" {
		return f, records.Errorf(records.Invalid, "type a position, a well number, a plate number, a parcel or a name")
	}
	err := d.store.View(ctx, func(v records.StoreView) error {
		var err error
		if f.Matches, err = v.Find(ctx, text, limit); err != nil {
			return err
		}
		if len(f.Matches) < limit && (len(f.Matches) == 0 || strings.Contains(text, "?")) {
			// A number of which not every digit could be read, here or on record.
			like, err := v.NumbersLike(ctx, text, limit-len(f.Matches))
			if err != nil {
				return err
			}
			for _, m := range like {
				if !slices.ContainsFunc(f.Matches, func(have records.Match) bool { return have.WellID == m.WellID && have.PlateID == m.PlateID }) {
					f.Matches = append(f.Matches, m)
				}
			}
		}
		if len(f.Matches) >= limit {
			return nil
		}
		layers, err := v.Layers(ctx)
		if err != nil {
			return err
		}
		for _, l := range layers {
			named, err := namedPlaces(l, text, limit-len(f.Matches))
			if err != nil {
				return err
			}
			for _, m := range named {
				if !slices.ContainsFunc(f.Matches, func(have records.Match) bool {
					return have.Kind == m.Kind && have.Text == m.Text && have.Note == m.Note
				}) {
					f.Matches = append(f.Matches, m)
				}
			}
		}
		return nil
	})
	if err != nil {
		return f, err
	}
	reading, err := position.Parse(text)
	if err == nil {
		f.Position = &reading
		return f, nil
	}
	var parse *position.ParseError
	if errors.As(err, &parse) && looksLikePosition(text) {
		f.Doubt, f.Suggest = parse.Error(), parse.Suggest
	}
	return f, nil
}

// looksLikePosition says whether somebody probably meant coordinates: two
// numbers at least, and few letters.
func looksLikePosition(s string) bool {
	numbers, letters, inNumber := 0, 0, false
	for _, r := range s {
		switch {
		case r >= '0' && r <= '9':
			if !inNumber {
				numbers++
			}
			inNumber = true
		case r == '.':
		default:
			inNumber = false
			if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
				letters++
			}
		}
	}
	return numbers >= 2 && letters <= 6
}
