package server

import (
	"fmt"
	"net/http"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// sightingHref is where something seen at a place is entered.
func sightingHref(at position.LonLat) string {
	return "/sighting/new?at=" + queryEscape(latLon(at))
}

func sightingPath(id int64) string { return "/sighting/" + strconv.FormatInt(id, 10) }

// sightingPage is one sighting.
type sightingPage struct {
	Base
	Heading, Place   string
	Facts            facts
	By               string // who saw it; private
	Means            string // what it says of the ground
	Map, Scout, Edit string
	Remove           string // address that a form is sent to
	Revision         int64
	Earlier          []sightingEarlier
	Gone             bool // it was taken out
}

// sightingEarlier is an earlier state of a sighting.
type sightingEarlier struct {
	Revision       int64
	Until, By, Why string
	What           string
	Changed        []string // what the write after it changed
	Restore        string   // address that a form is sent to
}

// sightingWords says what was seen, in a line.
func sightingWords(s *records.Sighting, u say.System) string {
	depth := u.Depth(s.Depth)
	switch s.Kind {
	case records.SawLedge:
		if v, ok := s.Depth.Number(); s.Depth.Known() && (!ok || v != 0) {
			return "rock in a cut, " + depth + " down"
		}
		return "rock at the surface"
	case records.SawRefusal:
		if depth == "" {
			depth = u.Depth(s.Bedrock)
		}
		return "a pit or probe met rock at " + depth
	case records.SawNoRefusal:
		return "a pit or probe went to " + depth + " without rock"
	case records.SawDryHole:
		if depth != "" {
			return "a dry hole of " + depth + ", as told"
		}
		return "a dry hole, as told"
	}
	return "something seen"
}

// meansWords says what the estimates take from it.
func meansWords(s *records.Sighting, u say.System) string {
	bedrock, yield := s.Evidence()
	var t string
	if bedrock.Known() {
		t = "bedrock " + u.DepthWords(bedrock)
		if v, ok := bedrock.Number(); ok && v == 0 {
			t = "bedrock at the surface"
		}
	}
	if yield.Known() {
		if t != "" {
			t += ", "
		}
		t += "yield " + u.FlowWords(yield)
	}
	if t == "" {
		return "It enters no estimate."
	}
	return "It enters the estimates as " + t + ", and is counted nowhere as a well."
}

// sightingHome answers /sighting/{id}. One that was taken out is shown with
// its earlier states, so that it can be restored.
func (s *Server) sightingHome(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	ctx, actor, u := r.Context(), s.actor(r), unitsOf(r)
	revs, err := s.desk.SightingRevisions(ctx, actor, id)
	if err != nil {
		return err
	}
	p := sightingPage{Base: s.base(r, "Seen")}
	see, err := s.desk.Sighting(ctx, actor, id)
	switch {
	case records.CodeOf(err) == records.NotFound && len(revs) > 0:
		p.Gone, see = true, revs[0].Image
	case err != nil:
		return err
	}
	at := position.LonLat{Lon: see.Lon, Lat: see.Lat}
	p.Heading, p.Place, p.Revision = capital(sightingWords(see, u)), position.Format(at, position.DecimalDegrees), see.Revision
	p.Title = p.Heading
	p.Means, p.By = meansWords(see, u), see.By
	p.Map, p.Scout = "/?at="+queryEscape(latLon(at)), "/scout?at="+queryEscape(latLon(at))
	p.Edit, p.Remove = sightingPath(id)+"/edit", sightingPath(id)+"/remove?revision="+strconv.FormatInt(see.Revision, 10)
	c := units{u}
	p.Facts.add("depth", c.depth(see.Depth))
	p.Facts.add("bedrock, stated by itself", c.depth(see.Bedrock))
	p.Facts.add("yield, as stated", c.flow(see.Yield))
	p.Facts.text("when", say.Date(see.Date))
	if see.Accuracy.Known() {
		p.Facts.text("its place is good to", u.Distance(float64(see.Accuracy.Value)))
	}
	p.Facts.text("located by", plainWord(see.Method))
	p.Facts.text("note", see.Note)
	p.Earlier = earlierSightings(revs, see, p.Gone, id, u)
	return s.show(w, "sighting", p)
}

// earlierSightings lists the states before this one, the latest first, each
// with what the write after it changed.
func earlierSightings(revs []records.Earlier[records.Sighting], now *records.Sighting, gone bool, id int64, u say.System) []sightingEarlier {
	var out []sightingEarlier
	next := now
	for i, rev := range revs {
		e := sightingEarlier{Revision: rev.Revision, Until: rev.Until.Format("2 January 2006 15:04"), By: rev.By, Why: rev.Why, What: sightingWords(rev.Image, u)}
		if gone && i == 0 {
			e.Changed = []string{"it was taken out"}
		} else {
			for _, ch := range records.DiffSightings(rev.Image, next) {
				e.Changed = append(e.Changed, plainField(ch.Field))
			}
		}
		e.Restore = restoreHref(id, rev.Revision, now.Revision)
		out = append(out, e)
		next = rev.Image
	}
	return out
}

func plainField(path string) string {
	for _, n := range [...][2]string{{"depth_m", "depth"}, {"depth_to_bedrock_m", "bedrock"}, {"yield_lps", "yield"}, {"seen.by", "who saw it"}, {"seen", "who saw it"}, {"accuracy_m", "how sure of the place"}, {"kind", "what was seen"}, {"date", "when"}, {"coordinates_given", "the place as given"}, {"lon", "longitude"}, {"lat", "latitude"}} {
		if path == n[0] {
			return n[1]
		}
	}
	return plainWord(path)
}

func restoreHref(id, revision, current int64) string {
	return fmt.Sprintf("%s/restore?revision=%d&current=%d", sightingPath(id), revision, current)
}

// mostSeen is how many sightings a map draws.
const mostSeen = 500

// addSeen draws the sightings in view, where wells are drawn one by one.
func addSeen(st *mapState, p *snapshot.Picture, data *draw.MapData) {
	if len(data.Hexes) > 0 || p.CountSightings() == 0 {
		return
	}
	box := st.view.Bounds(0)
	p.EachSighting(func(r snapshot.Row) bool {
		lon, lat, ok := r.Position()
		id, is := r.Sighting()
		if !ok || !is || !box.Has(lon, lat) {
			return true
		}
		d := r.Digest()
		seen := draw.MapSeen{Lon: lon, Lat: lat, Href: sightingPath(id)}
		seen.Kind, seen.Title = seenSign(&d, st.units)
		data.Seen = append(data.Seen, seen)
		return len(data.Seen) < mostSeen
	})
}

// seenSign is how a sighting is drawn, and its words.
func seenSign(d *records.Digest, u say.System) (draw.SeenKind, string) {
	bedrock := records.Amount[records.Depth]{Qualifier: d.Bedrock.Qualifier, Value: records.Depth(d.Bedrock.Value), High: records.Depth(d.Bedrock.High)}
	title := "seen here, no well"
	if bedrock.Known() {
		title += ": bedrock " + u.DepthWords(bedrock)
	}
	switch {
	case d.Yield.Qualifier != records.Missing && d.Yield.Value == 0:
		return draw.SeenDry, title + ": a dry hole, as told"
	case bedrock.Qualifier == records.GreaterThan:
		return draw.SeenNoRock, title
	case bedrock.Known():
		return draw.SeenRock, title
	}
	return draw.SeenElse, title
}

// seenListed is how many sightings are listed beside wells.
const seenListed = 8

// seenNear lists what was seen near a place.
func (s *Server) seenNear(r *http.Request, at position.LonLat) (listing, error) {
	u := unitsOf(r)
	l := listing{Caption: "Also seen nearby, no wells", Heads: heads("seen", "#distance", "direction", "when", "note")}
	near := s.desk.Picture().SightingsAround(at, desk.MileM)
	for _, n := range near[:min(len(near), seenListed)] {
		id, ok := n.Sighting()
		if !ok {
			continue
		}
		see, err := s.desk.Sighting(r.Context(), s.actor(r), id)
		if records.CodeOf(err) == records.NotFound {
			continue // taken out since the picture was made
		}
		if err != nil {
			return l, err
		}
		far, direction := u.Distance(n.DistanceM), say.Bearing(n.BearingDeg)
		if n.DistanceM < 1 {
			far, direction = "here", ""
		}
		l.add("", cell{Text: capital(sightingWords(see, u)), Href: sightingPath(id)}, cell{Text: far}, cell{Text: direction},
			cell{Text: say.Date(see.Date)}, cell{Text: clipText(see.Note, 120)})
	}
	return l.tidy(), nil
}
