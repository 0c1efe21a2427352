package server

import (
	"net/http"
	"strconv"
)

// outPage lists the records that were taken out.
type outPage struct {
	Base
	Sub         string
	Table       listing
	Newer, Next string
}

// outAtOnce is how many are listed on one page.
const outAtOnce = 50

// takenOutHome answers /records/out.
func (s *Server) takenOutHome(w http.ResponseWriter, r *http.Request) error {
	skip, err := readSkip(r)
	if err != nil {
		return err
	}
	out, all, err := s.desk.TakenOut(r.Context(), s.actor(r), skip, outAtOnce)
	if err != nil {
		return err
	}
	p := outPage{Base: s.base(r, "Taken out"), Sub: count(int(all), "record", "records") + ", the latest first. Each is kept as it last stood, and can be brought back"}
	if all == 0 {
		p.Sub = "No record was taken out"
	}
	p.Table = listing{Heads: heads("record", "taken out", "why", "it leads to")}
	for i := range out {
		o := &out[i]
		to := cell{}
		if o.MergedTo != "" {
			to = cell{Text: "the record it was merged into", Href: "/well/" + o.MergedTo}
			if id, err := s.desk.HistoryID(r.Context(), s.actor(r), o.MergedTo); err == nil {
				to.Text = s.numberOf(r, id)
			}
		}
		p.Table.add("", cell{Text: nameOf(o.Image), Href: historyPath(o.WellID), More: wellSub(o.Image)}, cell{Text: officeTime(o.At), More: byWords(o.By)},
			cell{Text: orElse(o.Why, "no reason given"), Class: "words"}, to)
	}
	p.Table = p.Table.tidy()
	if skip > 0 {
		p.Newer = "/records/out?skip=" + strconv.Itoa(max(0, skip-outAtOnce))
	}
	if int64(skip+len(out)) < all {
		p.Next = "/records/out?skip=" + strconv.Itoa(skip+outAtOnce)
	}
	return s.show(w, "takenout", p)
}
