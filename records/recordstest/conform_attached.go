package recordstest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"testing"

	"tallybook/records"
)

// Scan is an invented file that begins as a kind of file does, of a length.
func Scan(kind string, length int) []byte {
	begins := map[string]string{
		"image/jpeg": "\xff\xd8\xff\xe0", "image/png": "\x89PNG\r\n\x1a\n", "image/tiff": "II*\x00", "application/pdf": "%PDF-1.7\n", "image/webp": "RIFF\x00\x00\x00\x00WEBP",
	}[kind]
	out := append([]byte(begins), bytes.Repeat([]byte("invented. "), length/10+1)...)
	return out[:max(length, len(begins))]
}

// ConformAttachments holds a store against what is asked of it for what is
// attached: kept whole, once, inside or beside the database by its size, and
// read after the view has ended.
func ConformAttachments(t *testing.T, open Opener) {
	s := open(t)
	small, large := Scan("image/png", 300), Scan("application/pdf", records.AttachedInside+1)
	edge := Scan("image/jpeg", records.AttachedInside)
	var kept []records.Content
	keep := func(data []byte) {
		t.Helper()
		write(t, s, func(ctx context.Context, tx records.StoreTx) error {
			c, err := tx.KeepContent(ctx, data)
			kept = append(kept, c)
			return err
		})
	}
	for _, data := range [][]byte{small, large, edge, small, large} {
		keep(data)
	}
	if kept[0] != kept[3] || kept[1] != kept[4] {
		t.Errorf("the same content twice: %+v, %+v", kept[0], kept[3])
	}
	for i, data := range [][]byte{small, large, edge} {
		sum := sha256.Sum256(data)
		c := kept[i]
		if c.SHA256 != hex.EncodeToString(sum[:]) || c.Size != int64(len(data)) || c.Kind != records.KindOf(data) || c.By != Writer().Name || c.At.IsZero() || c.Beside != (i == 1) {
			t.Errorf("content %d is kept as %+v", i, c)
		}
		var got records.OpenContent
		look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
			got, err = v.OpenContent(ctx, c.SHA256)
			return err
		})
		back, err := io.ReadAll(got)
		if err = errors.Join(err, got.Close()); err != nil || !bytes.Equal(back, data) || got.Content != c {
			t.Errorf("content %d came back as %d bytes, %+v (%v)", i, len(back), got.Content, err)
		}
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		have, err := v.Contents(ctx, []string{kept[0].SHA256, "00", kept[1].SHA256})
		if len(have) != 2 || have[kept[1].SHA256] != kept[1] {
			t.Errorf("kept are %+v", have)
		}
		if _, err := v.OpenContent(ctx, "00"); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that was never kept: %v", err)
		}
		return err
	})
	refused(t, s, "a page", records.Invalid, func(ctx context.Context, tx records.StoreTx) error {
		_, err := tx.KeepContent(ctx, []byte("<html><script>alert(1)</script>"))
		return err
	})
	refused(t, s, "nothing", records.Invalid, func(ctx context.Context, tx records.StoreTx) error {
		_, err := tx.KeepContent(ctx, nil)
		return err
	})
	refused(t, s, "too large", records.TooLarge, func(ctx context.Context, tx records.StoreTx) error {
		_, err := tx.KeepContent(ctx, Scan("image/jpeg", records.MostAttached+1))
		return err
	})
	// Given up, it is not kept; brought again it is.
	other := Scan("image/tiff", records.AttachedInside+7)
	stop := errors.New("given up")
	if err := s.Update(t.Context(), Writer(), func(tx records.StoreTx) error {
		_, err := tx.KeepContent(t.Context(), other)
		return errors.Join(err, stop)
	}); !errors.Is(err, stop) {
		t.Fatal(err)
	}
	sum := sha256.Sum256(other)
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		have, err := v.Contents(ctx, []string{hex.EncodeToString(sum[:])})
		if len(have) != 0 {
			t.Error("what was given up is kept")
		}
		return err
	})
	keep(other)
}
