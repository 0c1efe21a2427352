package server

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/records"
)

// outsideView is what another program wrote into a record and could not be
// used.
type outsideView struct {
	Field, Written, Why, When string
	Settled                   string // "put aside on…"; "" while it is open
	Act, Button               string
}

func (s *Server) outsideViews(r *http.Request, id int64) ([]outsideView, error) {
	refused, err := s.desk.OutsideRefusals(r.Context(), s.actor(r), id)
	var out []outsideView
	for _, x := range refused {
		v := outsideView{Field: capital(fieldWords(x.Field)), Written: clipText(x.Written, 200), Why: capital(x.Why) + ".", When: capital(officeTime(x.At))}
		v.Act, v.Button = outsideHref(id, x.ID, "aside"), "Put aside"
		if !x.SettledAt.IsZero() {
			v.Settled = "put aside " + officeTime(x.SettledAt) + byWhom(x.SettledBy)
			v.Act, v.Button = outsideHref(id, x.ID, "open"), "Open again"
		}
		out = append(out, v)
	}
	return out, err
}

func outsideHref(id, no int64, act string) string {
	return fmt.Sprintf("%s/outside/%d/%s", wellHref(id), no, act)
}

// outsideSettle puts aside what another program wrote in vain, or opens it
// again.
func (s *Server) outsideSettle(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	no, err := strconv.ParseInt(mux.Vars(r)["no"], 10, 64)
	if err != nil {
		return records.Errorf(records.NotFound, "nothing of the kind was written by another program")
	}
	aside := mux.Vars(r)["act"] == "aside"
	if err := s.desk.SettleOutside(r.Context(), s.actor(r), no, aside); err != nil {
		return err
	}
	what := said{Text: "What another program wrote is put aside.", Undo: outsideHref(id, no, "open")}
	if !aside {
		what = said{Text: "What another program wrote is open again.", Undo: outsideHref(id, no, "aside")}
	}
	return s.done(w, r, historyPath(id)+"#outside", what)
}
