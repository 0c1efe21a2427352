package sqlite_test

import (
	"testing"

	"tallybook/records/recordstest"
)

func TestFeaturesConform(t *testing.T) { recordstest.ConformFeatures(t, fresh) }
