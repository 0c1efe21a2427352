package records

import (
	"fmt"
	"net/netip"
	"net/url"
	"strings"
)

// PublicBase is the address under which an office's records can be reached
// from anywhere, such as https://wells.example.org; "" where there is none. It
// is stamped on plates, which stay when machines and networks go.
type PublicBase string

// longestBase keeps a code on a plate small enough to be read.
const longestBase = 100

// homeNames are last parts of names that mean something on one machine or in
// one network alone: those that RFC 6761, RFC 6762, RFC 7686 and RFC 8375 set
// apart, the one that ICANN reserved for private use in 2024, and others that
// networks give themselves (common practice, no source).
var homeNames = []string{
	"localhost", "local", "test", "invalid", "onion", "home.arpa", "internal", "alt",
	"lan", "home", "corp", "intranet", "private", "localdomain",
}

// ParsePublicBase reads a base address. A name or number that means something
// on one machine or in one network alone is refused, since a plate outlives
// both. A warning comes with what can be used and is doubtful.
func ParsePublicBase(text string) (PublicBase, []Fault) {
	text = strings.TrimSpace(text)
	refuse := func(message, mend string) (PublicBase, []Fault) {
		return "", []Fault{{Severity: Refusal, Field: "public_base", Message: message, Mend: mend}}
	}
	const write = "write it like https://wells.example.org"
	if text == "" {
		return "", nil
	}
	u, err := url.Parse(text)
	switch {
	case len(text) > longestBase:
		return refuse(fmt.Sprintf("the address is longer than %d signs; a code with it could not be read on a plate", longestBase), "use a shorter one")
	case err != nil || u.Opaque != "" || u.Host == "" || u.Scheme != "https" && u.Scheme != "http":
		return refuse(fmt.Sprintf("%q is no address of the web", clip(text, 60)), write)
	case u.User != nil:
		return refuse("the address holds a user's name or password", "leave it out: anybody can read a plate")
	case u.RawQuery != "" || u.Fragment != "" || strings.ContainsAny(text, "?#"):
		return refuse("the address has something behind a '?' or '#'", write)
	case u.Port() == "0" || strings.HasSuffix(u.Host, ":"):
		return refuse("the address has a port that is none", write)
	}
	for _, c := range u.Host + u.EscapedPath() {
		if c <= ' ' || c > '~' || strings.ContainsRune(`"<>\^{|}`+"`", c) {
			return refuse("the address has signs that no code can hold safely", "write a name with other letters in its form that begins with xn--")
		}
	}
	host := strings.ToLower(strings.TrimSuffix(u.Hostname(), "."))
	message, mend, warning := homeHost(host)
	if message != "" {
		return refuse(message, mend)
	}
	var faults []Fault
	if warning == nil && u.Scheme == "http" {
		warning = &Fault{Message: "the address is not a secure one: some telephones warn before they open it", Mend: "use https where the server has it"}
	}
	if warning != nil {
		warning.Severity, warning.Field = Warning, "public_base"
		faults = append(faults, *warning)
	}
	if port := u.Port(); port != "" {
		if strings.Contains(host, ":") {
			host = "[" + host + "]"
		}
		host += ":" + port
	} else if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	return PublicBase(u.Scheme + "://" + host + strings.TrimRight(u.EscapedPath(), "/")), faults
}

// homeHost says why a host, in small letters, must not stand on a plate.
func homeHost(host string) (message, mend string, warning *Fault) {
	const name = "write the name by which the records are reached from anywhere, or leave it empty: the plate's own number is stamped then"
	if ip, err := netip.ParseAddr(host); err == nil {
		if !reachable(ip) {
			return host + " is an address of one machine or one network alone, and a plate outlives it", name, nil
		}
		return "", "", &Fault{Message: host + " is a number that a network may take back, and a plate outlives it", Mend: "use a name"}
	}
	labels := strings.Split(host, ".")
	for _, l := range labels {
		if l == "" || len(l) > 63 || strings.Trim(l, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || l[0] == '-' || l[len(l)-1] == '-' {
			return fmt.Sprintf("%q is no name of a host", clip(host, 60)), name, nil
		}
	}
	last := labels[len(labels)-1]
	if strings.Trim(last, "0123456789") == "" || strings.HasPrefix(last, "0x") { // read as a number of the old Internet protocol
		return fmt.Sprintf("%q is a number in a form that hides which machine is meant", clip(host, 60)), name, nil
	}
	for _, h := range homeNames {
		if host == h || strings.HasSuffix(host, "."+h) {
			return host + " is a name of one machine or one network alone, and a plate outlives it", name, nil
		}
	}
	if len(labels) < 2 {
		return host + " is the bare name of a machine, which means something in one network alone", name, nil
	}
	for _, h := range []string{"example", "example.com", "example.net", "example.org"} { // RFC 2606
		if host == h || strings.HasSuffix(host, "."+h) {
			return "", "", &Fault{Message: host + " is kept for examples and leads nowhere", Mend: "set your own before a plate is made"}
		}
	}
	return "", "", nil
}

// notReachable are the ranges of the IANA special-purpose registries (RFC 6890
// and later) that netip has no question for.
var notReachable = func() (out []netip.Prefix) {
	for _, p := range []string{
		"0.0.0.0/8", "100.64.0.0/10", "192.0.0.0/24", "192.0.2.0/24", "198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24", "240.0.0.0/4",
		"64:ff9b::/96", "64:ff9b:1::/48", "100::/64", "2001:db8::/32", "3fff::/20", "2002::/16", "fec0::/10", "::/96",
	} {
		out = append(out, netip.MustParsePrefix(p))
	}
	return out
}()

func reachable(ip netip.Addr) bool {
	ip = ip.Unmap()
	if ip.Zone() != "" || !ip.IsGlobalUnicast() || ip.IsPrivate() || ip.IsLoopback() || ip.IsLinkLocalUnicast() {
		return false
	}
	for _, p := range notReachable {
		if p.Contains(ip) {
			return false
		}
	}
	return true
}

// For is the address that leads to the record of a plate's or a well's number.
func (b PublicBase) For(number string) string { return string(b) + "/p/" + url.PathEscape(number) }
