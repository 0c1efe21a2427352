package importer_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/importer"
)

// plateRows reads a table to its end.
func plateRows(t testing.TB, text string, o importer.PlateOptions) ([]*importer.PlateRow, error) {
	t.Helper()
	table, err := importer.OpenPlateTable(strings.NewReader(text), o)
	if err != nil {
		return nil, err
	}
	var rows []*importer.PlateRow
	for {
		row, err := table.Next()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
}

var inFeet = importer.PlateOptions{Lengths: records.Foot, Diameters: records.InchDiameter, Flows: records.GallonPerMinute}

// The metres are those of the definitions: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 US
// gal = 3.785411784 L.
func TestPlateTable(t *testing.T) {
	rows, err := plateRows(t, "\xef\xbb\xbfNumber;Stamped date;Depth;casing_m;diameter;yield;lat;lon;Accuracy ft;seen;by;note\r\n"+
		"4?17;2004-06-15;305;1x2;6;5;44.504;-71.211;26;2026-05-02;Invented Walker;\"by the barn; north side\"\r\n"+
		"\r\n"+
		"4018;15 Jun 2004;61 m;12.5;6;<1;;;;;;\r\n", inFeet)
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	first := rows[0]
	if !first.Refused() || len(first.Faults) != 1 || first.Faults[0].Field != "casing" {
		t.Errorf("1x2 is to be refused alone: %v", first.Faults)
	}
	p := first.Plate
	s := p.Seen[0]
	if p.Number != "4?17" || p.Stamped.Date.String() != "2004-06-15" || p.Stamped.Depth.Value != 305*3048/10000.0 || p.Stamped.Diameter.Value != 152.4 ||
		!s.Located || s.Lat != 44.504 || s.Lon != -71.211 || s.Date.String() != "2026-05-02" || s.By != "Invented Walker" || s.Note != "by the barn; north side" || s.Accuracy.Value != 26*3048/10000.0 {
		t.Errorf("read as %+v", p)
	}
	second := rows[1]
	if second.Refused() || second.Number != 2 || second.Plate.Stamped.Depth.Value != 61 || second.Plate.Stamped.Casing.Value != 12.5 ||
		second.Plate.Stamped.Yield.Qualifier != records.LessThan || second.Plate.Seen != nil || second.Plate.Stamped.Depth.Given.Text != "61 m" {
		t.Errorf("the second: %+v %v", second.Plate, second.Faults)
	}
	again, err := plateRows(t, "number,depth\n7,100\n7,100\n7,101\n", inFeet)
	if err != nil || again[0].Plate.UID != again[1].Plate.UID || again[0].Plate.UID == again[2].Plate.UID {
		t.Errorf("the same row has to have the same public name, and no other one: %v", err)
	}
}

func TestPlateTableRefuses(t *testing.T) {
	for name, c := range map[string]struct{ row, field, says string }{
		"no number":           {"number,depth\n,5", "number", "with ? for each digit"},
		"a date of two ways":  {"number,date\n1,6/7/2004", "date", "order"},
		"half a place":        {"number,lat,lon\n1,44,", "position", "both"},
		"off the earth":       {"number,position\n1,95.5 200", "position", ""},
		"no quantity":         {"number,depth\n1,deep", "depth", ""},
		"too many cells":      {"number,depth\n1,5,6", "", "cells"},
		"a quote left open":   {"number,note\n1,\"open\n2,x", "", "quotes"},
		"no UTF-8":            {"number,note\n1,\xff\xfe", "note", "UTF-8"},
		"a cell without name": {"number,\n1,5", "column 2", "name the column"},
	} {
		rows, err := plateRows(t, c.row, inFeet)
		if err != nil || len(rows) == 0 || !rows[0].Refused() {
			t.Errorf("%s: not refused (%v)", name, err)
			continue
		}
		f := rows[0].Faults[0]
		if f.Field != c.field || !strings.Contains(f.String(), c.says) || f.Mend == "" {
			t.Errorf("%s: %s", name, f)
		}
	}
	for name, text := range map[string]string{
		"empty": "", "no column of numbers": "depth,date\n1,2", "a column that is not known": "number,colour\n1,red", "the same twice": "number,plate\n1,2",
		"half a place": "number,lat\n1,2", "the place twice": "number,lat,lon,position\n", "no unit of a depth": "number,depth_gpm\n", "a unit of what has none": "number,driller_ft\n",
		"no text": "number\x00,depth\n", "no order of dates": "",
	} {
		o := inFeet
		if name == "no order of dates" {
			text, o.Order = "number\n1", "myd"
		}
		if _, err := plateRows(t, text, o); records.CodeOf(err) != records.Invalid || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Whatever comes, each row is either taken with a number or refused with a
// reason, and what is taken can be written and read again.
func FuzzPlateTable(f *testing.F) {
	f.Add("number,date,depth_ft,lat,lon,seen\n4?17,2004-06-15,305,44.5,-71.2,2026\n")
	f.Add("number;note\n1;\"a\nb\"\n\"2;3\n")
	f.Add("\xef\xbb\xbfplate\tyield\n\xff\t<1\n")
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := plateRows(t, text, inFeet)
		if err != nil {
			return
		}
		for i, row := range rows {
			switch {
			case row.Number != int64(i+1):
				t.Fatalf("row %d is numbered %d", i+1, row.Number)
			case row.Refused():
				if row.Faults[0].Message == "" {
					t.Fatal("refused without a reason")
				}
			case row.Plate == nil || row.Plate.Number == "":
				t.Fatal("taken without a number")
			default:
				var back records.Plate
				if faults := back.ParsePlate(row.Plate.AppendPlate(nil)); records.Refuses(faults) && !records.Refuses(row.Plate.Validate(records.ValidateOptions{})) {
					t.Fatalf("what was taken cannot be read: %v", faults)
				}
			}
		}
	})
}
