package web

import (
	"context"
	"net/http"

	"wetside/internal/lab"
)

// UnitKeys are the keys with which units connect to the embedded broker. One
// that is replaced or withdrawn ends the connection that was made with it.
type UnitKeys interface {
	UnitKeyList(ctx context.Context) ([]lab.UnitKeyInfo, error)
	MakeUnitKey(ctx context.Context, unit lab.UnitID) (key string, err error)
	DeleteUnitKey(ctx context.Context, unit lab.UnitID) error // KindNotFound where there is none
}

// UnitKeyList answers GET /unit-keys.
type UnitKeyList struct {
	Keys []lab.UnitKeyInfo `json:"keys"`
}

// UnitKeyMade is a unit's new key, shown once.
type UnitKeyMade struct {
	Unit string `json:"unit"`
	Key  string `json:"key" doc:"The password of the unit at the broker; its user is lab/unit. It is not kept."`
}

func (s *Server) unitKeyRoutes() {
	register(s, lab.RoleLead, lead("list-unit-keys", http.MethodGet, "/unit-keys", "units", "Units that have a key for the broker",
		"By unit; the keys themselves are not kept."), withKeys(s, func(ctx context.Context, k UnitKeys, _ *struct{}) (*body[UnitKeyList], error) {
		keys, err := k.UnitKeyList(ctx)
		if keys == nil {
			keys = []lab.UnitKeyInfo{}
		}
		return answer(UnitKeyList{keys}, err)
	}))
	add := lead("create-unit-key", http.MethodPost, "/units/{lab}/{unit}/key", "units", "Give a unit a new key for the broker",
		"It is in the answer, once. It replaces the one before, and a connection made with that one ends.")
	add.DefaultStatus = http.StatusCreated
	register(s, lab.RoleLead, add, withKeys(s, func(ctx context.Context, k UnitKeys, in *UnitPath) (*body[UnitKeyMade], error) {
		key, err := k.MakeUnitKey(ctx, in.id())
		return answer(UnitKeyMade{in.id().String(), key}, err)
	}))
	end := lead("withdraw-unit-key", http.MethodDelete, "/units/{lab}/{unit}/key", "units", "Withdraw a unit's key for the broker",
		"Its connection ends.", http.StatusNotFound)
	end.DefaultStatus = http.StatusNoContent
	register(s, lab.RoleLead, end, withKeys(s, func(ctx context.Context, k UnitKeys, in *UnitPath) (*struct{}, error) {
		return nil, k.DeleteUnitKey(ctx, in.id())
	}))
}

// withKeys gives an operation the keys of units.
func withKeys[I, O any](s *Server, h func(context.Context, UnitKeys, *I) (*O, error)) func(context.Context, *I) (*O, error) {
	return func(ctx context.Context, in *I) (*O, error) {
		if s.cfg.Keys == nil {
			return nil, lab.Errorf(lab.KindConflict, "this wetside has no broker of its own; keys of units are made at the broker")
		}
		return h(ctx, s.cfg.Keys, in)
	}
}
