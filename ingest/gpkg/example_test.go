package gpkg_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest/gpkg"
)

func Example() {
	dir, err := os.MkdirTemp("", "example")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)

	f, err := gpkg.Open(filepath.Join(dir, "log.gpkg"), gpkg.Options{
		LastChange:  time.Date(2031, 6, 14, 12, 0, 0, 0, time.UTC),
		BusyTimeout: 2 * time.Second,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer f.Close()

	ctx := context.Background()
	err = f.Update(ctx, func(tx *gpkg.Tx) error {
		err := tx.CreateLayer(gpkg.Layer{Name: "soundings", Title: "Soundings", Geometry: "POINT",
			Columns: []gpkg.Column{{Name: "depth_m", Type: "REAL", Title: "Depth", Unit: "m"}}})
		if err != nil {
			return err
		}
		_, err = tx.Insert("soundings", gpkg.Encode(orb.Point{-88.5, 44.25}, gpkg.WGS84), 3.4)
		return err
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	err = f.View(ctx, func(tx *gpkg.Tx) error {
		return tx.Query(func(scan func(...any) error) error {
			var b []byte
			var depthM float64
			if err := scan(&b, &depthM); err != nil {
				return err
			}
			g, srs, err := gpkg.Decode(b)
			fmt.Println(g, srs, depthM)
			return err
		}, "SELECT geom, depth_m FROM soundings")
	})
	if err != nil {
		fmt.Println(err)
	}
	// Output: [-88.5 44.25] 4326 3.4
}
