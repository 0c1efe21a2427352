package sqlite_test

import (
	"testing"

	"tallybook/records/recordstest"
)

func TestHistoryConforms(t *testing.T) { recordstest.ConformHistory(t, fresh) }
