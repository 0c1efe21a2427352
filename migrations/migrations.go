// Package migrations holds the numbered SQL that makes and changes the
// database. A file is never edited once it has landed; the numbers have no
// gaps.
package migrations

import "embed"

// FS holds the migrations, one file each, named <number>_<subject>.sql.
//
//go:embed *.sql
var FS embed.FS
