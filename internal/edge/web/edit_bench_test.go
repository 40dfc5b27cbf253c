package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"noonmark/examples"
	"noonmark/internal/edge/store"
)

// BenchmarkEdit is an edit over the loopback, from the request to the last byte of the redrawn roof: a drag's
// step, and the drop that saves a revision for good. It prints the time under which 95 of 100 stay.
func BenchmarkEdit(b *testing.B) {
	for _, save := range []bool{false, true} {
		b.Run(map[bool]string{false: "drag", true: "saved"}[save], func(b *testing.B) {
			st, err := store.Open(context.Background(), filepath.Join(b.TempDir(), "store.db"), store.Options{Clock: time.Now})
			if err != nil {
				b.Fatal(err)
			}
			defer st.Close()
			e := examples.All()[0]
			rev, err := st.Add(context.Background(), "van", store.Draft{Text: e.Text})
			if err != nil {
				b.Fatal(err)
			}
			l, err := net.Listen("tcp", "127.0.0.1:0")
			if err != nil {
				b.Fatal(err)
			}
			h := &http.Server{Handler: New(Config{Shelf: st, Clock: time.Now})}
			go h.Serve(l)
			defer h.Close()
			var took []time.Duration
			base := rev.Number
			for i := range b.N {
				in, _ := json.Marshal(map[string]any{"base": base, "save": save, "moves": []map[string]any{{"kind": "obstacles", "name": "fan", "x_m": 1.55 + 0.0001*float64(i%900), "y_m": 0.9}}})
				began := time.Now()
				r, err := http.Post("http://"+l.Addr().String()+"/api/builds/van/try", "application/json", bytes.NewReader(in))
				if err != nil {
					b.Fatal(err)
				}
				body, err := io.ReadAll(r.Body)
				r.Body.Close()
				took = append(took, time.Since(began))
				var out struct{ Revision int }
				if err != nil || r.StatusCode != 200 || json.Unmarshal(body, &out) != nil {
					b.Fatal(r.StatusCode, err, fmt.Sprintf("%.300s", body))
				}
				base = out.Revision
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
		})
	}
}
