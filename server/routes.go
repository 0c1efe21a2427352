package server

import (
	"github.com/gorilla/mux"

	"tallybook/records"
)

// routes is every address that the server answers.
func (s *Server) routes(r *mux.Router) {
	r.HandleFunc("/static/{hash}/{name}", s.asset.serve).Methods("GET", "HEAD")
	r.HandleFunc("/choose", s.page(s.keepChoice)).Methods("GET")
	r.HandleFunc("/", s.page(s.mapHome)).Methods("GET", "HEAD")
	r.HandleFunc("/map.svg", s.page(s.mapSVG)).Methods("GET", "HEAD")
	r.HandleFunc("/pick", s.page(s.picked)).Methods("GET")
	r.HandleFunc("/well/{id:[0-9]+}", s.page(s.wellHome)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}.geojson", s.page(s.wellGeoJSON)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}/column.svg", s.page(s.columnSVG)).Methods("GET", "HEAD")
	r.HandleFunc("/well/new", s.page(s.editNew)).Methods("GET", "HEAD") // ahead of the public names
	r.HandleFunc("/well/{uid}", s.page(s.wellByUID)).Methods("GET", "HEAD")
	r.HandleFunc("/compare", s.page(s.compareHome)).Methods("GET", "HEAD")
	r.HandleFunc("/compare.svg", s.page(s.compareSVG)).Methods("GET", "HEAD")
	r.HandleFunc("/scout/sheet", s.page(s.scoutSheet)).Methods("GET", "HEAD")
	r.HandleFunc("/scout", s.page(s.scoutHome)).Methods("GET", "HEAD")
	r.HandleFunc("/scout/site.svg", s.page(s.scoutPlan)).Methods("GET", "HEAD")
	r.HandleFunc("/scout/keep", s.page(s.keepScouting)).Methods("POST")
	r.HandleFunc("/forecasts", s.page(s.forecastsHome)).Methods("GET", "HEAD")
	r.HandleFunc("/forecasts/past.csv", s.page(s.pastCSV)).Methods("GET", "HEAD")
	r.HandleFunc("/forecast/{id:[0-9]+}", s.page(s.forecastHome)).Methods("GET", "HEAD")
	r.HandleFunc("/forecast/{id:[0-9]+}/withdraw", s.page(s.forecastWithdraw)).Methods("POST")
	r.HandleFunc("/forecast/{id:[0-9]+}/outcome", s.page(s.forecastOutcome)).Methods("POST")
	r.HandleFunc("/forecast/{id:[0-9]+}/undo", s.page(s.forecastUndo)).Methods("POST")
	r.HandleFunc("/forecast/{uid}", s.page(s.forecastByUID)).Methods("GET", "HEAD")
	r.HandleFunc("/jobs", s.page(s.jobsHome)).Methods("GET", "HEAD")
	r.HandleFunc("/job/new", s.page(s.jobNew)).Methods("GET", "HEAD")
	r.HandleFunc("/job/new", s.page(s.jobSave)).Methods("POST")
	r.HandleFunc("/job/{id:[0-9]+}", s.page(s.jobHome)).Methods("GET", "HEAD")
	r.HandleFunc("/job/{id:[0-9]+}/edit", s.page(s.jobEdit)).Methods("GET", "HEAD")
	r.HandleFunc("/job/{id:[0-9]+}/edit", s.page(s.jobSave)).Methods("POST")
	r.HandleFunc("/job/{id:[0-9]+}/move", s.page(s.jobMove)).Methods("POST")
	r.HandleFunc("/job/{id:[0-9]+}/end", s.page(s.jobEndSave)).Methods("POST")
	r.HandleFunc("/job/{id:[0-9]+}/remove", s.page(s.jobRemove)).Methods("POST")
	r.HandleFunc("/job/{id:[0-9]+}/restore", s.page(s.jobRestore)).Methods("POST")
	r.HandleFunc("/job/{uid}", s.page(s.jobByUID)).Methods("GET", "HEAD")
	r.HandleFunc("/rig", s.page(s.rigHome)).Methods("GET", "HEAD")
	r.HandleFunc("/sighting/new", s.page(s.sightingNew)).Methods("GET", "HEAD")
	r.HandleFunc("/sighting/new", s.page(s.sightingSave)).Methods("POST")
	r.HandleFunc("/sighting/{id:[0-9]+}", s.page(s.sightingHome)).Methods("GET", "HEAD")
	r.HandleFunc("/sighting/{id:[0-9]+}/edit", s.page(s.sightingEdit)).Methods("GET", "HEAD")
	r.HandleFunc("/sighting/{id:[0-9]+}/edit", s.page(s.sightingSave)).Methods("POST")
	r.HandleFunc("/sighting/{id:[0-9]+}/remove", s.page(s.sightingRemove)).Methods("POST")
	r.HandleFunc("/sighting/{id:[0-9]+}/restore", s.page(s.sightingRestore)).Methods("POST")
	r.HandleFunc("/find", s.page(s.find)).Methods("GET", "HEAD")
	r.HandleFunc("/plate/{id:[0-9]+}", s.page(s.plateHome)).Methods("GET", "HEAD")
	r.HandleFunc("/office", s.page(s.officeHome)).Methods("GET", "HEAD")
	r.HandleFunc("/office/{sheet:rates|practice|rules}", s.page(s.officeSheetHome)).Methods("GET", "HEAD")
	r.HandleFunc("/office/{sheet:rates|practice|rules}", s.page(s.officePost)).Methods("POST")
	r.HandleFunc("/office/{sheet:rates|practice|rules}.json", s.page(s.officeFile)).Methods("GET", "HEAD")
	r.HandleFunc("/office/{sheet:rates|practice|rules}/read", s.page(s.officeRead)).Methods("POST")
	r.HandleFunc("/office/{sheet:rates|practice|rules}/restore", s.page(s.officeRestore)).Methods("POST")

	// The records desk: taking in.
	r.HandleFunc("/records", s.page(s.recordsDesk)).Methods("GET", "HEAD")

	// Editing a record, and drafts.
	r.HandleFunc("/well/new", s.page(s.editPost)).Methods("POST")
	r.HandleFunc("/well/look", s.asJSON(s.editLook)).Methods("POST")
	r.HandleFunc("/well/pasted", s.asJSON(s.editPasted)).Methods("POST")
	r.HandleFunc("/well/{id:[0-9]+}/edit", s.page(s.editOpen)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}/edit", s.page(s.editPost)).Methods("POST")
	r.HandleFunc("/well/{id:[0-9]+}/edit/undo", s.page(s.editUndo)).Methods("POST")
	r.HandleFunc("/well/{id:[0-9]+}/remove", s.page(s.editRemove)).Methods("POST")
	r.HandleFunc("/well/{id:[0-9]+}/back", s.page(s.editBack)).Methods("POST")
	r.HandleFunc("/drafts", s.page(s.draftsHome)).Methods("GET", "HEAD")
	r.HandleFunc("/draft", s.asJSON(s.draftKeep)).Methods("POST")
	r.HandleFunc("/draft/{id:[0-9]+}/discard", s.page(s.draftEnd(records.DraftDiscarded))).Methods("POST")
	r.HandleFunc("/draft/{id:[0-9]+}/reopen", s.page(s.draftEnd(""))).Methods("POST")

	// A record's history, duplicates, merging.
	r.HandleFunc("/records/out", s.page(s.takenOutHome)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}/history", s.page(s.historyHome)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}/history.svg", s.page(s.historySVG)).Methods("GET", "HEAD")
	r.HandleFunc("/well/{id:[0-9]+}/history/restore", s.page(s.historyRestore)).Methods("POST")
	r.HandleFunc("/well/{id:[0-9]+}/history/out", s.page(s.historyOut)).Methods("POST")
	r.HandleFunc("/merge", s.page(s.mergeHome)).Methods("GET", "HEAD")
	r.HandleFunc("/merge", s.page(s.mergePost)).Methods("POST")
	r.HandleFunc("/merge/{id:[0-9]+}/split", s.page(s.mergeSplit)).Methods("POST")

	// Plates and their records.
	r.HandleFunc("/plates", s.page(s.platesHome)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/match", s.page(s.platesMatch)).Methods("POST")
	r.HandleFunc("/plates/undo", s.page(s.platesUndo)).Methods("POST")
	r.HandleFunc("/plates/confirm", s.page(s.platesConfirm)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/confirm", s.page(s.platesConfirmed)).Methods("POST")
	r.HandleFunc("/plates/new", s.page(s.plateNew)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/new", s.page(s.plateCreate)).Methods("POST")
	r.HandleFunc("/plates/bring", s.page(s.platesBringHome)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/bring", s.page(s.platesBring)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}", s.page(s.plateDesk)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/{id:[0-9]+}/decide", s.page(s.plateDecide)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}/exchange", s.page(s.plateExchange)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/{id:[0-9]+}/exchange", s.page(s.plateExchanged)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}/edit", s.page(s.plateEdit)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/{id:[0-9]+}/edit", s.page(s.plateSave)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}/seen", s.page(s.plateAgain)).Methods("GET", "HEAD")
	r.HandleFunc("/plates/{id:[0-9]+}/seen", s.page(s.plateSeenSave)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}/remove", s.page(s.plateRemove)).Methods("POST")
	r.HandleFunc("/plates/{id:[0-9]+}/restore", s.page(s.plateRestore)).Methods("POST")
	r.HandleFunc("/p", s.page(s.numberAsked)).Methods("GET", "HEAD")
	r.HandleFunc("/p/{number:.+}", s.page(s.numberRead)).Methods("GET", "HEAD")

	// Plates to print, attachments.

	// Finding, correcting many.
}
