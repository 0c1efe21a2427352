package records_test

import (
	"net/netip"
	"net/url"
	"strings"
	"testing"

	"tallybook/records"
)

// Ranges: the IANA special-purpose address registries (RFC 6890, RFC 1918, RFC
// 3927, RFC 4193, RFC 4291, RFC 6598, RFC 5737). Names: RFC 6761, RFC 6762, RFC
// 8375, RFC 2606. Numbers in other forms: how the URL standard of the WHATWG
// reads a host that ends in a number.
func TestPublicBase(t *testing.T) {
	for _, c := range []struct {
		text, want string
		warned     bool
	}{
		{"", "", false},
		{"https://wells.nowhere.zz", "https://wells.nowhere.zz", false},
		{" https://Wells.Nowhere.ZZ/water/ ", "https://wells.nowhere.zz/water", false},
		{"https://wells.nowhere.zz.:8443", "https://wells.nowhere.zz:8443", false},
		{"https://wells.nowhere.zz/é a", "https://wells.nowhere.zz/%C3%A9%20a", false},
		{"http://wells.nowhere.zz", "http://wells.nowhere.zz", true},
		{"https://wells.example.org", "https://wells.example.org", true},
		{"https://1.2.3.4", "https://1.2.3.4", true},
		{"https://[2003:1::1]:444/x", "https://[2003:1::1]:444/x", true},
	} {
		got, faults := records.ParsePublicBase(c.text)
		if string(got) != c.want || records.Refuses(faults) || len(faults) > 0 != c.warned {
			t.Errorf("%q: %q, %v", c.text, got, faults)
		}
	}
	for _, bad := range []string{
		"wells.nowhere.zz", "ftp://wells.nowhere.zz", "https://", "https:///p", "https:wells", "https://u:p@wells.nowhere.zz", "https://wells.nowhere.zz/?a", "https://wells.nowhere.zz/#a", "https://wells.nowhere.zz:",
		"https://localhost", "https://LOCALHOST:8080", "https://localhost.", "https://a.localhost", "https://desk", "https://desk:8080", "https://printer.local", "https://nas.lan", "https://db.internal", "https://x.home.arpa", "https://x.test", "https://x.invalid",
		"https://127.0.0.1", "https://127.9.9.9:8080", "https://10.0.0.1", "https://172.16.0.9", "https://172.31.255.255", "https://192.168.1.1", "https://169.254.1.1", "https://0.0.0.0", "https://100.64.0.1", "https://192.0.2.1", "https://224.0.0.1", "https://255.255.255.255",
		"https://[::1]", "https://[::]", "https://[fe80::1]", "https://[fe80::1%25eth0]", "https://[fd00::1]", "https://[fc12::9]", "https://[::ffff:127.0.0.1]", "https://[::ffff:10.0.0.1]", "https://[64:ff9b::7f00:1]", "https://[2001:db8::1]", "https://[ff02::1]",
		"https://2130706433", "https://127.1", "https://0x7f.0.0.1", "https://0x7f000001", "https://0177.0.0.1", "https://a.0x7f", "https://wells.nowhere.zz.127",
		"https://wells..zz", "https://-a.zz", "https://wells_1.zz", "https://wéll.zz", "https://" + strings.Repeat("a.", 60) + "zz",
	} {
		if got, faults := records.ParsePublicBase(bad); got != "" || !records.Refuses(faults) || faults[0].Mend == "" {
			t.Errorf("%q was taken as %q, %v", bad, got, faults)
		}
	}
	if got := records.PublicBase("https://wells.nowhere.zz").For("A/4 17?é"); got != "https://wells.nowhere.zz/p/A%2F4%2017%3F%C3%A9" {
		t.Errorf("an address for a number: %s", got)
	}
}

// FuzzPublicBase: what is taken is an address of the web whose host is neither
// a number of one network nor a bare name, says the same when read again, and
// leads to the number it is asked for.
func FuzzPublicBase(f *testing.F) {
	for _, s := range []string{"https://wells.nowhere.zz/x", "http://[::ffff:127.0.0.1]:1/", "https://127.1", "https://a.b.localhost.", "https://[fe80::1%25a]", "https://x@y.z", "https://a.b/%2e%2e/", "https://a.b//"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		base, faults := records.ParsePublicBase(text)
		if base == "" {
			return
		}
		if records.Refuses(faults) {
			t.Fatalf("%q is taken and refused", text)
		}
		again, _ := records.ParsePublicBase(string(base))
		if again != base {
			t.Fatalf("%q is read as %q, and that as %q", text, base, again)
		}
		const number = "W 7/é?"
		u, err := url.Parse(base.For(number))
		if err != nil || u.User != nil || u.RawQuery != "" || u.Fragment != "" || !strings.HasSuffix(u.Path, "/p/"+number) {
			t.Fatalf("%q for %q: %v %v", base, number, u, err)
		}
		host := u.Hostname()
		if ip, err := netip.ParseAddr(host); err == nil {
			if ip = ip.Unmap(); ip.IsLoopback() || ip.IsPrivate() || ip.IsLinkLocalUnicast() || ip.IsUnspecified() || ip.IsMulticast() {
				t.Fatalf("%q is taken: %s", text, host)
			}
		} else if !strings.Contains(host, ".") || strings.HasSuffix("."+host, ".localhost") || strings.HasSuffix(host, ".local") {
			t.Fatalf("%q is taken: %s", text, host)
		}
	})
}

func TestPlateFormat(t *testing.T) {
	full := records.PlateFormat{
		Units: "si", PublicBase: "https://wells.nowhere.zz", Heading: "Invented township", WidthMM: 60, HeightMM: 30, HolesMM: 3,
		Tool: records.PlateEngraver, LineMM: 0.15, Fields: []string{"completed", "depth"},
	}
	for _, f := range []records.PlateFormat{{}, full, records.DefaultPlateFormat()} {
		text := f.AppendJSON(nil)
		back, faults := records.ParsePlateFormat(text)
		if len(faults) > 0 || string(back.AppendJSON(nil)) != string(text) {
			t.Errorf("%s came back as %s, %v", text, back.AppendJSON(nil), faults)
		}
	}
	for text, field := range map[string]string{
		`{`: "", `{} {}`: "", `[]`: "", `{"colour":"red"}`: "",
		`{"units":"furlong"}`: "units", `{"tool":"laser"}`: "tool", `{"width_mm":5,"height_mm":5}`: "width_mm", `{"width_mm":80}`: "height_mm",
		`{"holes_mm":0.2}`: "holes_mm", `{"line_mm":3}`: "line_mm", `{"fields":["owner"]}`: "fields", `{"public_base":"http://localhost"}`: "public_base",
		`{"heading":"` + strings.Repeat("x", 81) + `"}`: "heading",
	} {
		_, faults := records.ParsePlateFormat([]byte(text))
		if !records.Refuses(faults) || faults[0].Field != field {
			t.Errorf("%s: %v", text, faults)
		}
	}
}
