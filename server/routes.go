package server

import "github.com/gorilla/mux"

// routes is every address that the server answers.
func (s *Server) routes(r *mux.Router) {
	r.HandleFunc("/static/{hash}/{name}", s.asset.serve).Methods("GET", "HEAD")
	r.HandleFunc("/choose", s.page(s.keepChoice)).Methods("GET")
	r.HandleFunc("/", s.page(s.mapHome)).Methods("GET", "HEAD")
	r.HandleFunc("/map.svg", s.page(s.mapSVG)).Methods("GET", "HEAD")
	r.HandleFunc("/pick", s.page(s.picked)).Methods("GET")
}
