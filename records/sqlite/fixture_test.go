package sqlite_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// plainReader understands a handful of words: enough to see that the store
// asks it.
type plainReader struct{ version string }

func (r plainReader) Version() string { return r.version }

func (plainReader) Ground(s *records.Stratum) records.Ground {
	text := s.Material
	if text == "" {
		text = s.Description
	}
	switch {
	case strings.Contains(text, "granite"):
		return records.Ground{Material: "granite", Class: records.ClassRock, Index: 3}
	case strings.Contains(text, "clay"):
		return records.Ground{Material: "clay", Class: records.ClassSoil, Index: 2}
	case strings.Contains(text, "sand"):
		return records.Ground{Material: "sand", Class: records.ClassSoil, Index: 1}
	}
	return records.Ground{Material: "unknown"}
}

var (
	someone = records.Actor{ID: 7, Name: "A. Writer"}
	noon    = time.Date(2026, 3, 4, 12, 0, 0, 123456000, time.UTC)
)

func options(path string) sqlite.Options {
	return sqlite.Options{
		Path: path, Create: true,
		Now:    func() time.Time { return noon },
		Reader: plainReader{"1"},
		Log:    slog.New(slog.NewTextHandler(io.Discard, nil)),
	}
}

func open(t testing.TB, path string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(t.Context(), options(path))
	if err != nil {
		t.Fatalf("open: %v", err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

// newStore opens a store on a new file and gives its path too. The path has
// letters that mean something in a URI.
func newStore(t testing.TB) (*sqlite.Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "the office's wells #1?100%.sqlite")
	return open(t, path), path
}

func update(t testing.TB, s *sqlite.Store, fn func(ctx context.Context, tx records.StoreTx) error) {
	t.Helper()
	ctx := context.Background()
	if err := s.Update(ctx, someone, func(tx records.StoreTx) error { return fn(ctx, tx) }); err != nil {
		t.Fatalf("update: %v", err)
	}
}

func view(t testing.TB, s *sqlite.Store, fn func(ctx context.Context, v records.StoreView) error) {
	t.Helper()
	ctx := context.Background()
	if err := s.View(ctx, func(v records.StoreView) error { return fn(ctx, v) }); err != nil {
		t.Fatalf("view: %v", err)
	}
}

func put(t testing.TB, s *sqlite.Store, wells ...*records.Well) {
	t.Helper()
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for _, w := range wells {
			if err := tx.PutWell(ctx, w, "a reason"); err != nil {
				return err
			}
		}
		return nil
	})
}

func read(t testing.TB, s *sqlite.Store, id int64) *records.Well {
	t.Helper()
	var w *records.Well
	view(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		w, err = v.Well(ctx, id)
		return err
	})
	return w
}

func at(lon, lat float64) *records.Well {
	return &records.Well{Place: records.Place{Located: true, Lon: lon, Lat: lat}}
}

// invented makes an invented well; the same seed, the same well.
func invented(seed uint64) *records.Well {
	r := rand.New(rand.NewPCG(seed, 20260304))
	w := at(-71+r.Float64(), 44+r.Float64())
	w.Number = fmt.Sprintf("T-%05d", seed)
	w.PermitNumber = fmt.Sprintf("P %d/%02d", 1000+seed, r.IntN(100))
	w.Status, w.Purpose = "in_use", "domestic"
	w.Place.Parcel = fmt.Sprintf("%d-%d", r.IntN(100), r.IntN(1000))
	w.Place.Accuracy = records.Of(records.Length(10))
	w.Place.Elevation = records.Roughly(records.Height(200 + r.Float64()*100))
	w.Place.VertDatum = "local"
	w.Owner = records.Person{Name: fmt.Sprintf("Invented Owner %d", seed), Telephone: "000"}
	w.Crew.Driller = "Invented Driller"
	w.Rock = []string{"Upper Schist", "Lower Granite", ""}[r.IntN(3)]
	w.Setting = records.SettingWords()[r.IntN(5)]
	w.Completed = records.Date{Year: 1950 + r.IntN(70), Month: 1 + r.IntN(12), Day: 1 + r.IntN(28)}
	top := 0.0
	for _, text := range []string{"brown clay", "sand and gravel", "blue clay w/ cobbles", "soft granite", "granite", "hard grey granite"} {
		bottom := top + 1 + float64(r.IntN(200))/10
		w.Strata = append(w.Strata, records.Stratum{
			Top: records.Of(records.Depth(top)), Bottom: records.Of(records.Depth(bottom)), Description: text})
		top = bottom
	}
	w.TotalDepth = records.Of(records.Depth(top))
	w.Bedrock = records.Of(w.Strata[3].Top.Value)
	w.Casing = []records.Casing{{From: records.Of(records.Depth(-0.5)), To: records.Of(w.Strata[3].Top.Value + 3), Material: "steel"}}
	w.Yield = records.Of(records.Flow(float64(r.IntN(100)) / 50))
	if r.IntN(10) == 0 {
		w.Yield = records.Under(records.Flow(0.03))
	}
	w.StaticLevel = records.Of(records.Depth(r.Float64() * 20))
	return asWritten(w)
}

// asWritten gives a record as it reads after it has once been written as
// JSON, where every number has digits.
func asWritten(w *records.Well) *records.Well {
	back := &records.Well{Place: records.Place{Located: w.Place.Located, Lon: w.Place.Lon, Lat: w.Place.Lat}}
	if faults := back.ParseProperties(w.AppendProperties(nil, records.WriteOptions{Private: true})); len(faults) > 0 {
		panic(fmt.Sprint("the test's own record has faults: ", faults))
	}
	return back
}
