package web

import (
	"reflect"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"
)

// wholeLists is the transformer by which no answer says null where the API
// promises a list or an object.
func wholeLists(_ huma.Context, _ string, v any) (any, error) {
	if v == nil {
		return nil, nil
	}
	out, _ := whole(reflect.ValueOf(v))
	return out.Interface(), nil
}

// filled is the same for what goes out by the live socket.
func filled[T any](v T) T {
	out, _ := whole(reflect.ValueOf(v))
	return out.Interface().(T)
}

// whole gives v with an empty list or map in place of each that is none, those
// left out of JSON when empty set aside. What v points to may be shared, with
// the live view for one: it is never written to, what changes is a copy. It
// also tells whether anything changed.
func whole(v reflect.Value) (reflect.Value, bool) {
	if !holdsLists(v.Type()) {
		return v, false
	}
	switch v.Kind() {
	case reflect.Pointer:
		return wholePointer(v)
	case reflect.Struct:
		return wholeStruct(v)
	case reflect.Slice:
		return wholeSlice(v)
	case reflect.Map:
		if v.IsNil() {
			return reflect.MakeMap(v.Type()), true
		}
	}
	return v, false
}

func wholePointer(v reflect.Value) (reflect.Value, bool) {
	if v.IsNil() {
		return v, false
	}
	e, changed := whole(v.Elem())
	if !changed {
		return v, false
	}
	p := reflect.New(v.Type().Elem())
	p.Elem().Set(e)
	return p, true
}

func wholeStruct(v reflect.Value) (reflect.Value, bool) {
	out, changed := v, false
	for f, held := range v.Fields() {
		if !f.IsExported() || leftOut(f, held) {
			continue
		}
		w, ok := whole(held)
		if !ok {
			continue
		}
		if !changed {
			out, changed = reflect.New(v.Type()).Elem(), true
			out.Set(v)
		}
		out.FieldByIndex(f.Index).Set(w)
	}
	return out, changed
}

func wholeSlice(v reflect.Value) (reflect.Value, bool) {
	if v.IsNil() {
		return reflect.MakeSlice(v.Type(), 0, 0), true
	}
	out, changed := v, false
	for i := range v.Len() {
		w, ok := whole(v.Index(i))
		if !ok {
			continue
		}
		if !changed {
			out, changed = reflect.MakeSlice(v.Type(), v.Len(), v.Len()), true
			reflect.Copy(out, v)
		}
		out.Index(i).Set(w)
	}
	return out, changed
}

// leftOut tells whether JSON has no such field: never, or not when it is empty.
func leftOut(f reflect.StructField, v reflect.Value) bool {
	name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name == "-" || strings.Contains(options, "omit") && v.IsZero()
}

var listTypes sync.Map // reflect.Type to bool, filled by holdsLists

// holdsLists tells whether a list or a map can be anywhere in a type, so that
// thousands of points of a trace are not looked into one by one.
func holdsLists(t reflect.Type) bool {
	if known, ok := listTypes.Load(t); ok {
		return known.(bool)
	}
	holds := listsIn(t, map[reflect.Type]bool{})
	listTypes.Store(t, holds)
	return holds
}

func listsIn(t reflect.Type, seen map[reflect.Type]bool) bool {
	if seen[t] {
		return false
	}
	seen[t] = true
	switch t.Kind() {
	case reflect.Slice:
		return t.Elem().Kind() != reflect.Uint8 // bytes are text
	case reflect.Map:
		return true
	case reflect.Pointer:
		return listsIn(t.Elem(), seen)
	case reflect.Struct:
		for f := range t.Fields() {
			if f.IsExported() && listsIn(f.Type, seen) {
				return true
			}
		}
	}
	return false
}
