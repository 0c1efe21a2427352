// Package pages holds the templates: one layout, partials shared by views, and
// one view a page.
package pages

import "embed"

// FS holds the templates.
//
//go:embed layout.html partials/*.html views/*.html
var FS embed.FS
