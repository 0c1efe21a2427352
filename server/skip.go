package server

import (
	"net/http"
	"strconv"

	"tallybook/records"
)

// readSkip is how many of a long list come before what is asked for.
func readSkip(r *http.Request) (int, error) {
	t := r.URL.Query().Get("skip")
	if t == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(t)
	if err != nil || n < 0 || n > 1e9 {
		return 0, records.Errorf(records.Invalid, "skip=%s is no place in the list", clipText(t, 20))
	}
	return n, nil
}
