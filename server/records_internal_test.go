package server

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
	"tallybook/server/say"
)

func TestFieldWords(t *testing.T) {
	for path, want := range map[string]string{
		"":                                      "the record",
		"strata[2].bottom_m":                    "stratum 3, bottom",
		"casing":                                "casing",
		"crew.driller":                          "crew, driller",
		"total_depth_m":                         "total depth",
		"yield_tests[0].net_flow_lps":           "yield test 1, net flow",
		"coordinates_given":                     "position",
		"things_of_ours[3]":                     "things of ours 4",
		"strata[x].top_m":                       "stratum, top",
		"depth_to_bedrock_m":                    "stated depth to bedrock",
		"provenance.note":                       "provenance, note",
		"static_levels[11].at_rest_min":         "level 12, at rest",
		"treatments[0].yield_before_lps":        "treatment 1, yield before",
		strings.Repeat("a.", 3) + "b_qualifier": "a, a, a, b qualifier",
	} {
		if got := fieldWords(path); got != want {
			t.Errorf("%q: %q, want %q", path, got, want)
		}
	}
}

func TestAsWritten(t *testing.T) {
	for _, c := range []struct {
		given records.Given
		want  string
	}{
		{records.Given{}, ""},
		{records.Given{Text: "203", Unit: records.Foot}, "“203” ft"},
		{records.Given{Text: "203 ft", Unit: records.Foot}, "“203 ft”"},
		{records.Given{Text: `62' 6"`, Unit: records.Foot}, `“62' 6"”`},
		{records.Given{Text: "<1", Unit: records.GallonPerMinute}, "“<1” gpm"},
		{records.Given{Text: "3", High: "5", Unit: records.GallonPerMinute}, "“3 to 5” gpm"},
		{records.Given{Text: "dry", Unit: records.GallonPerMinute}, "“dry”"},
		{records.Given{Text: "7.2"}, "“7.2”"},
	} {
		if got := asWritten(c.given); got != c.want {
			t.Errorf("%+v: %q, want %q", c.given, got, c.want)
		}
	}
}

func TestSpan(t *testing.T) {
	u := units{say.US}
	ft := recordstest.Feet[records.Depth]
	for _, c := range []struct {
		from, to records.Amount[records.Depth]
		want     string
	}{
		{ft("0"), ft("62"), "0–62"},
		{ft("-2"), ft("62"), "−2–62"},
		{ft("12"), ft("50+"), "12 to >50"},
		{ft("~12"), ft("16"), "~12 to 16"},
		{records.Amount[records.Depth]{}, ft("16"), "to 16"},
		{ft("16"), records.Amount[records.Depth]{}, "from 16"},
		{records.Amount[records.Depth]{}, records.Amount[records.Depth]{}, ""},
	} {
		if got := u.span(c.from, c.to).Text; got != c.want {
			t.Errorf("%v to %v: %q, want %q", c.from.Given, c.to.Given, got, c.want)
		}
	}
}

func TestTidyLeavesOutSilentColumns(t *testing.T) {
	l := listing{Heads: heads("a", "#b", "c", "")}
	l.add("", cell{Text: "1"}, cell{}, cell{Why: "so"})
	l.add("x", cell{Text: "2"}, cell{})
	got := l.tidy()
	if len(got.Heads) != 2 || got.Heads[0].Text != "a" || got.Heads[1].Text != "c" {
		t.Fatalf("heads %+v", got.Heads)
	}
	for _, r := range got.Rows {
		if len(r.Cells) != len(got.Heads) {
			t.Errorf("row %+v does not fit its heads", r)
		}
	}
	if got.Rows[1].Class != "x" {
		t.Error("the class of a row is lost")
	}
}

// Who may not see people sees none of them, in the history either.
func TestPrivateThingsStayPrivate(t *testing.T) {
	now := recordstest.Full()
	was := recordstest.Full()
	was.Owner.Name, was.Place.Address = "Owner Z", "3 Nowhere Road"
	revisions := []records.Revision{{Revision: 1, Until: time.Unix(0, 0), Image: was}}
	told := func(ps ...part) string {
		var b strings.Builder
		for _, p := range ps {
			for _, f := range p.Facts {
				b.WriteString(f.Text + "\n")
			}
			for _, l := range p.Lists {
				for _, r := range l.Rows {
					for _, c := range r.Cells {
						b.WriteString(c.Text + c.More + "\n")
					}
				}
			}
		}
		return b.String()
	}
	u := units{say.US}
	all := told(peoplePart(u, now, true), placePart(u, &desk.Sheet{Well: now}, true), historyPart(now, revisions, true))
	few := told(peoplePart(u, now, false), placePart(u, &desk.Sheet{Well: now}, false), historyPart(now, revisions, false))
	for _, secret := range []string{"Owner A", "Owner Z", "1 Nowhere Road", "3 Nowhere Road", "2 Nowhere Road"} {
		if !strings.Contains(all, secret) {
			t.Errorf("%q is not told to who may see it", secret)
		}
		if strings.Contains(few, secret) {
			t.Errorf("%q is told to who may not see it", secret)
		}
	}
}

func TestChangesShowWhatWasWritten(t *testing.T) {
	was, is := recordstest.Plain(), recordstest.Plain()
	is.TotalDepth = recordstest.Feet[records.Depth](`210' 6"`)
	is.Yield = records.Of(records.Flow(0.5))
	for _, c := range records.Diff(was, is) {
		w, i := changeCell(c.Was), changeCell(c.Is)
		switch c.Field {
		case "total_depth_m":
			if w.Text != "“203” ft" || i.Text != `“210' 6"”` || // which names its own unit
				w.More != "61.8744 m" {
				t.Errorf("%+v to %+v", w, i)
			}
		case "yield_lps":
			if w.Text != "“6” gpm" || i.Text != "0.5 L/s" || i.More != "" {
				t.Errorf("%+v to %+v", w, i)
			}
		default:
			t.Errorf("%s changed", c.Field)
		}
	}
	if c := changeCell(`a (given as "b`); c.Text != `a (given as "b` {
		t.Errorf("%+v", c)
	}
}

func TestOverrun(t *testing.T) {
	for ratio, want := range map[float64]string{1: "none", 1.3: "30 %", 0.8: "20 % short", 1.001: "none", 3: "200 %"} {
		if got := overrunCell(ratio).Text; got != want {
			t.Errorf("%v: %q, want %q", ratio, got, want)
		}
	}
}

// FuzzLocalPath: an address that is taken leads to this server from any of its
// pages, as a browser reads it: without tabs and line breaks, backslashes
// taken for slashes (WHATWG URL, "relative state" and "authority state", from
// memory).
func FuzzLocalPath(f *testing.F) {
	for _, s := range []string{"/", "/?a=b", "//x", "/\\x", "/\t/x", "/\n//x", "http://x/", "/x#y", "/%2f/x", "/..//x", "\\/x", "/x?back=//y", ""} {
		f.Add(s)
	}
	base, err := url.Parse("http://127.0.0.1:8080/well/7?units=si")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if !localPath(s) {
			return
		}
		seen := strings.NewReplacer("\t", "", "\n", "", "\r", "", "\\", "/").Replace(s)
		if strings.HasPrefix(seen, "//") {
			t.Fatalf("%q is taken and leads elsewhere", s)
		}
		u, err := base.Parse(seen)
		if err != nil || u.Host != base.Host || u.Scheme != "http" {
			t.Fatalf("%q leads to %v, %v", s, u, err)
		}
	})
}

func TestSizeOf(t *testing.T) {
	for n, want := range map[int64]string{0: "0 bytes", 1: "1 byte", 70: "70 bytes", 1500: "2 kB", 31_500_000: "31.5 MB"} {
		if got := sizeOf(n); got != want {
			t.Errorf("%d is said as %q, not %q", n, got, want)
		}
	}
}
