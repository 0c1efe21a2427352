package server

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/server/say"
)

// keptPage is a kept review.
type keptPage struct {
	Base
	Name      string
	Author    string
	Remark    string
	Kept      string // when and by whom
	Withdrawn string
	Since     string // what became of the records
	Changed   bool
	Again     string // address that works it again
	Waiting   string
	Compared  *listing // what differs; nil: it was not worked again
	SameNow   bool
	Revision  int64
	ID        int64
	Facts     facts
	Repeat    string // how to repeat it on the command line
	Parts     []reviewPartView
	Live      string // the same question of today's records
	Report    bool
}

// reviewsKept lists the kept reviews.
func (s *Server) reviewsKept(r *http.Request) (listing, error) {
	l := listing{Heads: heads("review", "#wells", "of", "kept", "")}
	all, err := s.desk.KeptReviews(r.Context(), s.actor(r))
	if err != nil {
		return l, err
	}
	for _, k := range all {
		class, note := "", k.Author
		if k.State.Withdrawn {
			class, note = "withdrawn", joinWords("withdrawn", note)
		}
		l.add(class, cell{Text: k.Title, Href: keptPath(k.ID), More: note}, cell{Text: grouped(int(k.Wells))}, cell{Text: "state " + strconv.FormatInt(k.DataCommit, 10)},
			cell{Text: dayOf(k.KeptAt), More: byWords(k.KeptBy)}, cell{Text: "report", Href: keptPath(k.ID) + "/report"})
	}
	return l, nil
}

func keptPath(id int64) string { return "/review/" + strconv.FormatInt(id, 10) }

// reviewKeep answers the form that keeps a review. Its question is the query of
// the address that it is sent to.
func (s *Server) reviewKeep(w http.ResponseWriter, r *http.Request) error {
	set, _, err := s.reviewAsk(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	text := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	st, err := s.desk.ReviewSoon(r.Context(), s.actor(r), set, reviewFileWait)
	if err != nil {
		return err
	}
	if st.Working {
		return records.Errorf(records.Busy, "the review is still being worked (%s); keep it again in a minute", st.Step)
	}
	kept, err := s.desk.KeepReview(r.Context(), s.actor(r), set, text("title"), text("author"), text("note"))
	if err != nil {
		return err
	}
	return s.done(w, r, keptPath(kept.ID), said{Text: "Kept as it stands, with its numbers.", Undo: keptPath(kept.ID) + "/withdraw?revision=0"})
}

// reviewIDOf reads which review is asked for.
func reviewIDOf(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return 0, records.Errorf(records.NotFound, "there is no review %s", clipText(mux.Vars(r)["id"], 20))
	}
	return id, nil
}

// reviewOpen answers /review/N and its report.
func (s *Server) reviewOpen(report bool) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := reviewIDOf(r)
		if err != nil {
			return err
		}
		k, doc, err := s.desk.KeptReview(r.Context(), s.actor(r), id)
		if err != nil {
			return err
		}
		p := keptPage{Base: s.base(r, k.Title), Name: k.Title, Author: k.Author, Remark: k.Note, ID: k.ID, Revision: k.State.Revision, Report: report,
			Kept: joinWords("kept "+dayOf(k.KeptAt), byWords(k.KeptBy)), Again: keptPath(id) + "?again=1#again", Live: "/review?" + reviewQuery(doc.Settings, unitsOf(r)).Encode()}
		if k.State.Withdrawn {
			p.Withdrawn = joinWords("withdrawn "+dayOf(k.State.At), byWords(k.State.By), k.State.Why)
		}
		since, err := s.desk.ReviewSince(s.actor(r), doc)
		switch {
		case err != nil && records.CodeOf(err) == records.Internal:
			return err
		case err != nil: // a material that the vocabulary has no longer: the numbers can be read all the same
			p.Since, p.Changed = "It cannot be worked again as it was asked: "+records.MessageOf(err)+".", true
		default:
			p.Since, p.Changed = since.String(), !since.Same
		}
		if r.URL.Query().Get("again") != "" && err == nil {
			if err := s.reviewAgain(r, doc, &p); err != nil {
				return err
			}
		}
		p.Facts, p.Repeat = s.reviewFacts(k, doc, p.Units), repeatLine(k)
		v := s.reading(r, doc.Settings)
		v.fixed = true
		for _, part := range s.keptParts(doc) {
			p.Parts = append(p.Parts, v.part(part, doc.Answer(part.Name), nil, keptPath(id)+"/", "?units="+p.Units.String()))
		}
		if report {
			return s.show(w, "reviewreport", p)
		}
		return s.show(w, "reviewkept", p)
	}
}

// keptParts are the parts that a kept review holds, in the order of today's.
func (s *Server) keptParts(doc *review.Document) []review.Part {
	var out []review.Part
	for _, p := range s.desk.ReviewParts() {
		if doc.Answer(p.Name) != nil {
			out = append(out, p)
		}
	}
	return out
}

// reviewAgain works a kept review on the records of today, and tells what
// differs.
func (s *Server) reviewAgain(r *http.Request, doc *review.Document, p *keptPage) error {
	st, err := s.desk.ReviewSoon(r.Context(), s.actor(r), doc.Settings, 20*reviewWait)
	if err != nil {
		return err
	}
	if st.Working {
		p.Waiting, _ = reviewWorking(st)
		return nil
	}
	var now []*review.Answer
	for _, part := range s.desk.ReviewParts() {
		if a := st.Answers[part.Name]; a != nil && doc.Answer(part.Name) != nil {
			now = append(now, a)
		}
	}
	l := listing{Heads: heads("question", "first difference", "#then", "#now")}
	for _, d := range review.Compare(doc.Answers, now) {
		title := d.Part
		for _, part := range s.desk.ReviewParts() {
			if part.Name == d.Part {
				title = part.Title
			}
		}
		l.add("", cell{Text: title, Href: "#" + d.Part}, cell{Text: strings.ReplaceAll(d.Where, "_", " ")}, cell{Text: clipText(d.Was, 60)}, cell{Text: clipText(d.Is, 60)})
	}
	p.Compared, p.SameNow = &l, len(l.Rows) == 0
	return nil
}

// reviewFacts are every setting of a review, and the data that it stands on.
func (s *Server) reviewFacts(k *records.Review, doc *review.Document, u say.System) facts {
	var f facts
	set := doc.Settings
	f.text("quantity", desk.FieldWords(set.Field()))
	f.add("wells", cell{Text: fmt.Sprintf("%s of %s", grouped(doc.Data.Wells), grouped(doc.Data.Of)), More: strings.Join(s.reviewWells(set, u), "; ")})
	if len(set.Only) > mostFilterSaid {
		f.text("the whole filter", set.Only)
	}
	f.text("columns are round in", map[string]string{"us": "feet and gallons a minute", "si": "metres and litres a minute"}[set.Units])
	f.text("scale", orElse(map[string]string{"linear": "plain", "log": "logarithmic"}[set.Scale], "chosen by the data"))
	f.text("neighbours are within", u.Distance(set.PairsWithinM))
	f.text("marked unreliable", map[bool]string{true: "taken in", false: "left out"}[set.MarkedToo])
	f.text("bedrock", map[bool]string{true: "as the logs say", false: "as picked in “" + clipText(set.Picks, 60) + "”"}[set.Picks == ""])
	for _, name := range sortedKeys(set.Parts) {
		f.text(strings.ReplaceAll(strings.ReplaceAll(name, ".", ": "), "_", " "), set.Parts[name])
	}
	f.add("state of the data", cell{Text: strconv.FormatInt(doc.Data.Commit, 10), More: "fingerprint " + clipText(doc.Data.Digest, 16)})
	if doc.Data.Logs != "" {
		f.add("logs", cell{Text: "read as a whole", More: "fingerprint " + clipText(doc.Data.Logs, 16)})
	}
	f.add("worked by", cell{Text: doc.Data.Program, More: "vocabulary " + doc.Data.Words})
	f.add("worked on", cell{Text: dayOf(doc.Data.At)})
	f.add("review", cell{Text: strconv.FormatInt(k.ID, 10), More: k.UID})
	return f
}

// repeatLine is how another repeats a review.
func repeatLine(k *records.Review) string {
	return fmt.Sprintf("tallybook review --db FILE --settings review-%d.json", k.ID)
}

// reviewJSON answers /review/N.json: the whole review as one file.
func (s *Server) reviewJSON(w http.ResponseWriter, r *http.Request) error {
	id, err := reviewIDOf(r)
	if err != nil {
		return err
	}
	k, _, err := s.desk.KeptReview(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="review-%d.json"`, id))
	_, err = w.Write(k.Document)
	return ignoreGone(err)
}

// reviewKeptFile answers /review/N/PART.svg and /review/N/PART.csv.
func (s *Server) reviewKeptFile(w http.ResponseWriter, r *http.Request) error {
	id, err := reviewIDOf(r)
	if err != nil {
		return err
	}
	_, doc, err := s.desk.KeptReview(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	a := doc.Answer(mux.Vars(r)["part"])
	if a == nil {
		return records.Errorf(records.NotFound, "review %d has no part %q", id, clipText(mux.Vars(r)["part"], 40))
	}
	return s.sendPart(w, r, s.reading(r, doc.Settings), a, mux.Vars(r)["form"])
}

// reviewWithdraw answers the forms that withdraw a review and bring it back.
func (s *Server) reviewWithdraw(withdraw bool) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := reviewIDOf(r)
		if err != nil {
			return err
		}
		if err := readForm(w, r); err != nil {
			return err
		}
		revision, err := strconv.ParseInt(r.Form.Get("revision"), 10, 64)
		if err != nil {
			return records.Errorf(records.Invalid, "the form does not say which state of the review was seen; go back and try again")
		}
		if err := s.desk.WithdrawReview(r.Context(), s.actor(r), id, revision, withdraw, strings.TrimSpace(r.PostForm.Get("why"))); err != nil {
			return err
		}
		what := said{Text: "Withdrawn. It stays as it was, and is marked.", Undo: fmt.Sprintf("%s/undo?revision=%d", keptPath(id), revision+1)}
		if !withdraw {
			what = said{Text: "It stands again.", Undo: fmt.Sprintf("%s/withdraw?revision=%d", keptPath(id), revision+1)}
		}
		return s.done(w, r, keptPath(id), what)
	}
}

// sortedKeys are the keys of settings in order.
func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }
