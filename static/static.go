// Package static holds the style sheets, scripts and icons of the pages.
package static
