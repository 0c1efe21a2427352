package main

import (
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// checkError refuses a file for the standard error that cannot be written.
func (cmd *surfaceCommand) checkError(ext string) error {
	if cmd.Error == "" {
		return nil
	}
	if cmd.Method != "kriging" {
		return records.Errorf(records.Invalid, "--error goes with --method kriging: the other methods have no standard error; --show range gives the width of the estimate's range")
	}
	if strings.ToLower(filepath.Ext(cmd.Error)) != ext {
		return records.Errorf(records.Invalid, "--error %s: the name must end in %s, as --out does", cmd.Error, ext)
	}
	if err := apart("--error", cmd.Error, cmd.DB); err != nil {
		return err
	}
	return apart("--error", cmd.Error, cmd.Out)
}

// krigedWords says what a kriged surface stands on.
func krigedWords(p *printer, r *desk.KrigedReport, f snapshot.Field) {
	of := "values"
	if r.Log {
		of = "logarithms, log(1 + value / " + fourDigits(r.Unit) + " " + unitName(f) + ")"
	}
	p.f("kriged from %s on %d sites, the nearest %d each; of %s\n", oneOrMany(r.Values, "value", "values"), r.Sites, r.Neighbours, of)
	m := r.Fitted
	s := m.Structures[0]
	p.f("variogram: %s, nugget %s, sill %s (nugget share %.0f %%), range %s", s.Shape, fourDigits(m.Nugget), fourDigits(m.Sill()), 100*m.NuggetShare(), metresWords(s.RangeM))
	if m.AtLimit {
		p.f(" (not found: the lags do not show where it ends)")
	}
	p.f("; fitted to %d lags of %s\n", m.Lags, metresWords(r.Lags.WidthM))
	if r.Bounds > 0 {
		p.f("%s left out: kriging knows values alone\n", oneOrMany(r.Bounds, "bound", "bounds"))
	}
	if r.Marked > 0 {
		p.f("%s left out that are marked unreliable\n", oneOrMany(r.Marked, "well", "wells"))
	}
	if r.Beyond > 0 {
		p.f("%s beyond all the wells that enter, as weights below zero allow\n", oneOrMany(r.Beyond, "node lies", "nodes lie"))
	}
	if r.Floored > 0 {
		p.f("%s below zero and set to zero\n", oneOrMany(r.Floored, "node came out", "nodes came out"))
	}
	if r.Singular > 0 {
		p.f("%s without a value because the equations had no sound answer\n", oneOrMany(r.Singular, "node", "nodes"))
	}
}

// oneOrMany counts things whose words do not end in s.
func oneOrMany(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func fourDigits(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }
