package gpkg

import (
	"context"
	"database/sql/driver"
	"errors"

	"modernc.org/sqlite"
)

// drv is a driver of our own, so that the functions the index triggers call exist
// on our connections and on nobody else's.
var drv = newDriver()

type connector struct{ dsn string }

func (c connector) Connect(context.Context) (driver.Conn, error) { return drv.Open(c.dsn) }
func (c connector) Driver() driver.Driver                        { return drv }

// newDriver registers the SQL functions that GeoPackage 1.3, annex F.3, asks of a
// program that writes to an indexed layer: ST_IsEmpty, ST_MinX, ST_MaxX, ST_MinY
// and ST_MaxY. NULL gives NULL, an empty shape has no minimum: NULL.
func newDriver() *sqlite.Driver {
	d := new(sqlite.Driver)
	register := func(name string, value func(geometryInfo) driver.Value) {
		d.MustRegisterFunction(name, &sqlite.FunctionImpl{
			NArgs:         1,
			Deterministic: true,
			VolatileArgs:  true, // the bytes are read and not kept
			Scalar: func(_ *sqlite.FunctionContext, args []driver.Value) (driver.Value, error) {
				switch b := args[0].(type) {
				case nil:
					return nil, nil
				case []byte:
					info, err := quickInfo(b)
					if err != nil {
						return nil, err
					}
					return value(info), nil
				}
				return nil, errors.New(name + " needs a geometry")
			},
		})
	}
	side := func(pick func(extent) float64) func(geometryInfo) driver.Value {
		return func(i geometryInfo) driver.Value {
			if i.ext.empty() {
				return nil
			}
			return pick(i.ext)
		}
	}
	register("ST_IsEmpty", func(i geometryInfo) driver.Value {
		if i.ext.empty() {
			return int64(1)
		}
		return int64(0)
	})
	register("ST_MinX", side(func(e extent) float64 { return e.minX }))
	register("ST_MaxX", side(func(e extent) float64 { return e.maxX }))
	register("ST_MinY", side(func(e extent) float64 { return e.minY }))
	register("ST_MaxY", side(func(e extent) float64 { return e.maxY }))
	return d
}
