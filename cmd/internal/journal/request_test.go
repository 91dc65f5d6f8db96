package journal

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/strict"
	"ecart/geometry"
	"ecart/geometry/camera"
)

// parseLens is a lens file as the command line reads it.
func parseLens(data []byte) (*camera.Lens, error) {
	var f camera.LensFile
	if err := strict.JSON(data, &f, strict.Options{}); err != nil {
		return nil, err
	}
	return f.Lens("lens")
}

// remake is what the command line does to make a kept reading again.
func remake(e *Entry) (*reading.Reading, error) {
	q, err := e.Again()
	if err != nil {
		return nil, err
	}
	q.Measure, _ = geometry.Lookup(e.Request.Measure)
	if e.Request.Lens != nil {
		if q.Lens, err = parseLens(e.Request.Lens); err != nil {
			return nil, err
		}
	}
	return reading.Read(q)
}

// What is kept makes the reading again to the last bit, with everything that can
// be given.
func TestRemadeToTheLastBit(t *testing.T) {
	plain := func(*reading.Request) ([]byte, []byte) { return nil, nil }
	for name, with := range map[string]func(q *reading.Request) (lens, priors []byte){
		"plain": plain,
		"lens": func(q *reading.Request) ([]byte, []byte) {
			file := sampleLens(t)
			l, err := parseLens(file)
			require.NoError(t, err)
			q.Lens = l
			return file, nil
		},
		"priors": func(q *reading.Request) ([]byte, []byte) {
			yaml := []byte("schema: ecart/priors/1\nplacement: {sd_px: 2.5, long_side_px: 1920}\n")
			p, err := reading.ParsePriors("priors", yaml)
			require.NoError(t, err)
			q.Priors = p
			return nil, yaml
		},
		"movement": func(q *reading.Request) ([]byte, []byte) {
			q.Movement = &reading.Movement{OffsetDeg: 0.7, FitSDDeg: 0.4, TimingSDDeg: 0.2, VelocityPx: map[string][2]float64{"hip": {310, -42}}, Readout: [2]float64{0, 1}}
			return nil, nil
		},
		"the rest": func(q *reading.Request) ([]byte, []byte) {
			q.Camera, q.ObliqueDeg, q.DistanceM, q.FocalMm, q.Confidence, q.Coverage, q.Still = "", 7, 5.5, 26, 0.9, 0.99, true
			q.Options = geometry.Options{Leg: geometry.Whole, Side: geometry.Left, Facing: geometry.FacingRight}
			return nil, nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			q := splitRequest(t, splitMarks)
			lens, priors := with(&q)
			r, err := reading.Read(q)
			require.NoError(t, err)
			data, err := json.Marshal(r)
			require.NoError(t, err)
			j := openNew(t)
			e, err := sampleOnce()
			require.NoError(t, err)
			e.Request, e.Reading = NewRequest(&q, lens, priors), data
			keep(t, j, e)
			n := 0
			for m, err := range j.Recompute(ctx, Filter{}, remake) {
				require.NoError(t, err)
				require.NoError(t, m.Err)
				assert.Empty(t, m.Changes)
				second, err := json.Marshal(m.After)
				require.NoError(t, err)
				assert.Equal(t, string(data), string(second))
				n++
			}
			assert.Equal(t, 1, n)
		})
	}
}

// Every field of a request has its place in what is kept: one that is added and
// forgotten here comes back empty.
func TestNoFieldOfARequestIsLost(t *testing.T) {
	q := splitRequest(t, splitMarks)
	elsewhere := map[string]string{
		"Take":    "in the reading",
		"Marks":   "the marks file",
		"Measure": "by name",
		"Priors":  "the priors file",
		"Lens":    "the lens file",
	}
	fill(t, reflect.ValueOf(&q).Elem(), elsewhere)
	e, err := sampleOnce()
	require.NoError(t, err)
	data, err := json.Marshal(NewRequest(&q, nil, nil))
	require.NoError(t, err)
	e.Request = Request{}
	require.NoError(t, json.Unmarshal(data, &e.Request))
	got, err := e.Again()
	require.NoError(t, err)
	assert.Equal(t, q.Measure.Name, e.Request.Measure)
	for name := range elsewhere {
		reflect.ValueOf(&got).Elem().FieldByName(name).Set(reflect.ValueOf(&q).Elem().FieldByName(name))
	}
	q.Measure, got.Measure = geometry.Measure{}, geometry.Measure{} // it holds a function, which does not compare
	assert.Equal(t, q, got)
}

// fill gives every field that is not listed a value that is not its zero.
func fill(t *testing.T, v reflect.Value, but map[string]string) {
	for i := range v.NumField() {
		f := v.Field(i)
		if but[v.Type().Field(i).Name] != "" || !f.CanSet() {
			continue
		}
		switch f.Kind() {
		case reflect.Bool:
			f.SetBool(true)
		case reflect.Int:
			f.SetInt(int64(7 + i))
		case reflect.Uint64:
			f.SetUint(uint64(7 + i))
		case reflect.Float64:
			f.SetFloat(0.5 + float64(i))
		case reflect.String:
			f.SetString("text of " + v.Type().Field(i).Name)
		case reflect.Struct:
			fill(t, f, nil)
		case reflect.Pointer:
			p := reflect.New(f.Type().Elem())
			if p.Elem().Kind() == reflect.Float64 {
				p.Elem().SetFloat(0.75)
			} else {
				fill(t, p.Elem(), nil)
			}
			f.Set(p)
		case reflect.Slice:
			s := reflect.MakeSlice(f.Type(), 1, 1)
			if s.Index(0).Kind() == reflect.Struct {
				fill(t, s.Index(0), nil)
			} else {
				s.Index(0).SetString("one")
			}
			f.Set(s)
		case reflect.Array:
			for k := range f.Len() {
				f.Index(k).SetFloat(0.25 + float64(k))
			}
		case reflect.Map:
			m := reflect.MakeMap(f.Type())
			m.SetMapIndex(reflect.ValueOf("hip"), reflect.ValueOf([2]float64{3, -4}))
			f.Set(m)
		default:
			t.Fatalf("%s is of a kind this test does not know", v.Type().Field(i).Name)
		}
	}
}

func TestBandWithoutAnEnd(t *testing.T) {
	q := splitRequest(t, splitMarks)
	r := NewRequest(&q, nil, nil)
	assert.Nil(t, r.Skill.Bands[1].ToDeg)
	e, err := sampleOnce()
	require.NoError(t, err)
	got, err := e.Again()
	require.NoError(t, err)
	assert.True(t, math.IsInf(got.Skill.Bands[1].ToDeg, 1))
}
