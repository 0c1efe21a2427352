package importer_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/records/importer"
)

// Two columns of one name are told of on the first look, and not only when the
// file is to be taken in.
func TestLookTellsOfTwins(t *testing.T) {
	path := filepath.Join(t.TempDir(), "twins.csv")
	if err := os.WriteFile(path, []byte("well,lat,lat ,lon\nA,44.1,44.1,-72\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := importer.LookAt(path, importer.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if said := strings.Join(l.Sheets[0].Notes, "; "); !strings.Contains(said, `columns 2 and 3 are both named "lat"`) {
		t.Errorf("it says %q", said)
	}
}
