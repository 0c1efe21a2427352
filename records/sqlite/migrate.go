package sqlite

import (
	"context"
	"fmt"

	"github.com/pressly/goose/v3"

	"tallybook/migrations"
	"tallybook/records"
)

// migrate runs the migrations that the file has not seen, a transaction each.
func (s *Store) migrate(ctx context.Context) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, s.writer, migrations.FS,
		goose.WithDisableGlobalRegistry(true), goose.WithSlog(s.o.Log))
	if err != nil {
		return fmt.Errorf("sqlite: migrations: %w", err)
	}
	sources := p.ListSources()
	newest := sources[len(sources)-1].Version
	// Two processes may open the same file at the same moment: the one that
	// comes second fails on what the first has just made, and looks again.
	for attempt := 1; ; attempt++ {
		has, err := p.GetDBVersion(ctx)
		if err == nil && has > newest {
			return records.Errorf(records.Invalid,
				"the file %s was written by a newer version of the program (its schema is %d, this program knows %d): use the newer program", s.path, has, newest)
		}
		if err == nil && has == newest {
			return nil
		}
		if err == nil {
			if _, err = p.Up(ctx); err == nil {
				return nil
			}
		}
		if attempt == 5 || ctx.Err() != nil {
			return translate(err, "migrate "+s.path)
		}
		s.o.Log.Info("bringing the file to this program's schema failed, trying again", "path", s.path, "error", err)
	}
}
