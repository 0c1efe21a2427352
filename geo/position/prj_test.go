package position_test

import (
	"errors"
	"strings"
	"testing"

	"tallybook/geo/position"
)

// The texts are shortened forms of what OGC 01-009, section 7, gives as its
// grammar, with the constants of the EPSG register; GDAL's own are read in the
// judges' tests.
func TestCRSText(t *testing.T) {
	const (
		wgs = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
		nad = `GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
		tm  = `PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",NORTH],PARAMETER["Central_Meridian",-69.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`
	)
	utm := func(on, north string) string {
		return `PROJCS["Some_UTM",` + on + `,` + strings.ReplaceAll(tm, "NORTH", north)
	}
	for name, c := range map[string]struct {
		text  string
		code  int
		datum position.Datum
		say   string
	}{
		"degrees":        {wgs, 4326, position.DatumWGS84, ""},
		"degrees NAD83":  {nad + "\n", 4326, position.DatumNAD83, ""},
		"UTM north":      {utm(wgs, "0.0"), 32619, position.DatumWGS84, ""},
		"UTM south":      {utm(wgs, "10000000.0"), 32719, position.DatumWGS84, ""},
		"UTM NAD83":      {utm(nad, "0"), 32619, position.DatumNAD83, ""},
		"with blanks":    {strings.ReplaceAll(utm(nad, "0"), ",", ",\r\n  "), 32619, position.DatumNAD83, ""},
		"round brackets": {strings.NewReplacer("[", "(", "]", ")").Replace(wgs), 4326, position.DatumWGS84, ""},
		"compound":       {`COMPD_CS["x",` + wgs + `,VERT_CS["NAVD88",VERT_DATUM["n",2005],UNIT["metre",1]]]`, 4326, position.DatumWGS84, ""},
		"2019": {`GEOGCRS["WGS 84",ENSEMBLE["World Geodetic System 1984 ensemble",MEMBER["x"]],PRIMEM["Greenwich",0],CS[ellipsoidal,2],AXIS["lat",north],ANGLEUNIT["degree",0.0174532925199433]]`,
			4326, position.DatumWGS84, ""},
		"feet":        {strings.ReplaceAll(utm(nad, "0"), `UNIT["Meter",1.0]`, `UNIT["Foot_US",0.3048006096]`), 0, 0, "not in metres"},
		"NAD27":       {strings.ReplaceAll(utm(nad, "0"), "D_North_American_1983", "D_North_American_Datum_1927"), 0, 0, "NAD27"},
		"other datum": {strings.ReplaceAll(wgs, "D_WGS_1984", "D_Elsewhere"), 0, 0, "Elsewhere"},
		"own":         {strings.ReplaceAll(utm(nad, "0"), "-69.0", "-70.5"), 0, 0, "not UTM"},
		"conic":       {strings.ReplaceAll(utm(nad, "0"), "Transverse_Mercator", "Lambert_Conformal_Conic"), 0, 0, "neither"},
		"empty":       {"", 0, 0, "not well-known text"},
		"words":       {"Projection UTM\nZone 19", 0, 0, "not well-known text"},
		"cut off":     {wgs[:100], 0, 0, "not well-known text"},
		"more":        {wgs + wgs, 0, 0, "not well-known text"},
		"deep":        {strings.Repeat("A[", 5000), 0, 0, "not well-known text"},
		"paris":       {strings.ReplaceAll(wgs, `"Greenwich",0.0`, `"Paris",2.33722917`), 0, 0, "meridian"},
		"local":       {`LOCAL_CS["x",LOCAL_DATUM["y",0],UNIT["m",1]]`, 0, 0, "datum"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := position.ParseCRSText(c.text)
			var e *position.CRSTextError
			switch {
			case c.say == "" && (err != nil || got.Code != c.code || got.Datum != c.datum):
				t.Errorf("got %+v, %v", got, err)
			case c.say != "" && (!errors.As(err, &e) || !strings.Contains(err.Error(), c.say)):
				t.Errorf("got %+v, %v, want an error with %q", got, err, c.say)
			}
		})
	}
}

// Whatever is read: no panic, and what is accepted is a projection that is known.
func FuzzCRSText(f *testing.F) {
	f.Add(`GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`)
	f.Add(`PROJCS["x",GEOGCS["x",DATUM["NAD83"],UNIT["d",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["central_meridian",-69],UNIT["m",1]]`)
	f.Fuzz(func(t *testing.T, text string) {
		c, err := position.ParseCRSText(text)
		if err != nil {
			return
		}
		if _, err := position.EPSG(c.Code); err != nil || c.Datum != position.DatumWGS84 && c.Datum != position.DatumNAD83 {
			t.Fatalf("accepted %+v: %v", c, err)
		}
	})
}
