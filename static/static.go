// Package static holds the style sheets, scripts and icons of the pages.
package static

import "embed"

// FS holds the files.
//
//go:embed *.css *.js *.svg
var FS embed.FS
