package monitor

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"

	"wetside/alerts/notify"
	"wetside/ingest/broker"
	"wetside/internal/lab"
	"wetside/internal/postgres"
	"wetside/web"
)

// UnitKeys make and withdraw the keys of units. The broker looks at them
// again by itself, and ends connections whose key is gone.
type UnitKeys struct{ *postgres.Store }

// MakeUnitKey implements web.UnitKeys.
func (k UnitKeys) MakeUnitKey(ctx context.Context, unit lab.UnitID) (string, error) {
	key, hash := broker.NewKey()
	return key, k.CreateUnitKey(ctx, unit, hash)
}

var _ web.UnitKeys = UnitKeys{}

// webKey is the pages' own key, made from the one that signs links: a
// standby that takes over knows the same forms and devices.
func webKey(pageKey []byte) []byte {
	mac := hmac.New(sha256.New, pageKey)
	mac.Write([]byte("forms and devices"))
	return mac.Sum(nil)
}

// The lab's settings that hold the secrets of paging.
const (
	settingPageKey = "page-link-key"
	settingVAPID   = "push-vapid"
)

// pageLinkKey gives the key that signs the links in pages; it is made once.
func pageLinkKey(ctx context.Context, store *postgres.Store) ([]byte, error) {
	key, err := store.Setting(ctx, settingPageKey)
	if err == nil || lab.KindOf(err) != lab.KindNotFound {
		return key, err
	}
	key = make([]byte, 32)
	rand.Read(key)
	return key, store.SetSetting(ctx, settingPageKey, key)
}

// vapidKeys gives the key pair by which push services know this lab; it is
// made once.
func vapidKeys(ctx context.Context, store *postgres.Store) (v notify.VAPID, err error) {
	b, err := store.Setting(ctx, settingVAPID)
	if err == nil {
		return v, json.Unmarshal(b, &v)
	}
	if lab.KindOf(err) != lab.KindNotFound {
		return v, err
	}
	if v, err = notify.NewVAPID(); err != nil {
		return v, err
	}
	if b, err = json.Marshal(v); err != nil {
		return v, err
	}
	return v, store.SetSetting(ctx, settingVAPID, b)
}
