package access

import (
	"strings"
	"testing"

	"wetside/internal/lab"
	"wetside/web/access/accesstest"
)

// The list is from the data of zxcvbn: see passwords/README.md.
func TestCommonPasswordsAreRefused(t *testing.T) {
	s := accesstest.New()
	s.Settings["tern-street/plover"] = lab.UnitSetting{Unit: "tern-street/plover", Name: "The old Plover"}
	for password, good := range map[string]bool{
		"password": false, "Password1": false, "12345678": false, "iloveyou": false, "qwertyuiop": false, "Baseball!!": false,
		"11111111": false, "aaaaaaaa": false, "wren wren": false, "Wren2026!!": false, "tern-street": false, "plover-1999": false, "wetside1": false,
		"correct horse": true, "battery staple": true, "fixer on tuesday": true, "x7#kQ9-vT2": true, "8813 0042 7719 5530": true,
	} {
		_, err := newPassword(t.Context(), s, "Wren", password)
		if good != (err == nil) {
			t.Errorf("%q: %v", password, err)
		}
	}
}

// A password has 8 bytes at least and 256 at most, whatever is in it.
func TestPasswordLength(t *testing.T) {
	for _, bad := range []string{"short", strings.Repeat("x", 257)} {
		if _, err := newPassword(t.Context(), accesstest.New(), "Wren", bad); lab.KindOf(err) != lab.KindInvalid || !strings.Contains(err.Error(), "8 to 256 bytes") {
			t.Errorf("%d bytes: %v, want invalid", len(bad), err)
		}
	}
}
