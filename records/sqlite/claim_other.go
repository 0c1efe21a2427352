//go:build !linux

package sqlite

import "os"

func lockByte(*os.File, int64, bool) error { return errNoClaims }
