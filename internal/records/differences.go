package records

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
)

// differences names the parts in which two values differ as JSON, such as
// steps.0.time_s.
func differences(a, b any) (names []string) {
	compareParts("", asJSON(a), asJSON(b), &names)
	slices.Sort(names)
	return names
}

func compareParts(path string, a, b any, names *[]string) {
	if x, ok := a.([]any); ok {
		if y, ok := b.([]any); ok && len(x) == len(y) {
			for i := range x {
				compareParts(fieldPath(path, fmt.Sprint(i)), x[i], y[i], names)
			}
			return
		}
	}
	x, xMap := a.(map[string]any)
	y, yMap := b.(map[string]any)
	if xMap && yMap {
		for name := range y {
			if _, there := x[name]; !there {
				*names = append(*names, fieldPath(path, name))
			}
		}
		for name, v := range x {
			compareParts(fieldPath(path, name), v, y[name], names)
		}
		return
	}
	if !reflect.DeepEqual(a, b) {
		*names = append(*names, path)
	}
}

func fieldPath(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func asJSON(v any) any {
	var out any
	b, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(b, &out)
	}
	if err != nil {
		return fmt.Sprint(err)
	}
	return out
}
