package records

import "reflect"

// Coded is the record with another code.
func Coded(r Record, code string) Record { return r.coded(code) }

// Says reports whether all that r says is what have says too; what r leaves blank may be filled in there. If not, field is the first
// that differs. Both are of one kind.
func Says(r, have Record) (field string, same bool) {
	a, b := reflect.ValueOf(r), reflect.ValueOf(have)
	if a.Type() != b.Type() {
		return "Kind", false
	}
	for i := range a.NumField() {
		if a.Field(i).IsZero() || reflect.DeepEqual(a.Field(i).Interface(), b.Field(i).Interface()) {
			continue
		}
		return a.Type().Field(i).Name, false
	}
	return "", true
}
