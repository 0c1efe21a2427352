package say

import (
	"net/http"

	"tallybook/records"
)

// Status is the one table from the codes of errors to HTTP status codes.
func Status(c records.Code) int {
	switch c {
	case records.Invalid:
		return http.StatusBadRequest
	case records.NotFound:
		return http.StatusNotFound
	case records.Conflict:
		return http.StatusConflict
	case records.Busy:
		return http.StatusServiceUnavailable
	case records.TooLarge:
		return http.StatusRequestEntityTooLarge
	case records.Forbidden:
		return http.StatusForbidden
	}
	return http.StatusInternalServerError
}
