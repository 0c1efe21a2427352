package sqlite_test

import (
	"testing"

	"tallybook/records/recordstest"
)

func TestGroundConforms(t *testing.T) { recordstest.ConformGround(t, fresh) }
