//go:build judges

package exchange_test

import (
	"path/filepath"
	"strings"
	"testing"

	"tallybook/geo/judge"
	"tallybook/records/exchange"
)

// GDAL reads each table of a set, and joins them by their key.
func TestGDALReadsOurSetOfTables(t *testing.T) {
	dir := t.TempDir()
	writeSet(t, dir, manyParts(), exchange.Options{})
	for name, want := range map[string]string{"wells": "Feature Count: 3", "strata": "Feature Count: 4", "casing": "Feature Count: 2", "strikes": "Feature Count: 2"} {
		info := judge.Run(t, "ogrinfo", "-so", "-al", "-oo", "AUTODETECT_TYPE=YES", filepath.Join(dir, name+".csv"))
		if !strings.Contains(info, want) || !strings.Contains(info, "uid: String") {
			t.Errorf("%s.csv: not %q:\n%s", name, want, info)
		}
	}
	joined := judge.Run(t, "ogrinfo", "-q", dir, "-dialect", "SQLite", "-sql", "SELECT count(*) AS n, sum(s.bottom_m) AS deep FROM wells w JOIN strata s ON s.uid = w.uid")
	if !strings.Contains(joined, "n (Integer) = 4") || !strings.Contains(joined, "deep (Real) = 144.4") {
		t.Errorf("joined: %s", joined)
	}
}
