package sqlite_test

import (
	"testing"

	"tallybook/records/recordstest"
)

func TestFiltersConform(t *testing.T) { recordstest.ConformFilters(t, fresh) }
