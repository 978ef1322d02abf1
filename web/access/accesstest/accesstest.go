// Package accesstest stands in for the part of the store that knows people,
// tokens and sessions, in the tests of access and of those who ask it.
//
// A Store is safe for concurrent use; its fields are, while Mu is held.
package accesstest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/web/access/internal/argon"
)

// CheapPasswords makes passwords cost next to nothing, for this run of the
// tests. Call it from TestMain.
func CheapPasswords() { argon.Cheapen() }

// Store is people, tokens and sessions in memory.
type Store struct {
	Mu       sync.Mutex
	ByName   map[string]lab.User
	ByHash   map[string]lab.Token
	Kept     map[string]Session
	Settings map[string]lab.UnitSetting
	Broken   error // what every look into the store gives
}

// Session is a session as it is kept.
type Session struct {
	data   []byte
	expiry time.Time
}

// New gives a Store with nobody in it.
func New() *Store {
	return &Store{ByName: map[string]lab.User{}, ByHash: map[string]lab.Token{}, Kept: map[string]Session{}, Settings: map[string]lab.UnitSetting{}}
}

// Lock locks the store and gives what unlocks it.
func (s *Store) Lock() (unlock func()) { s.Mu.Lock(); return s.Mu.Unlock }

// UnitSettings gives what people decided about units: their names are no
// passwords.
func (s *Store) UnitSettings(context.Context) (map[string]lab.UnitSetting, error) {
	defer s.Lock()()
	return maps.Clone(s.Settings), s.Broken
}

func (s *Store) CreateUser(_ context.Context, u lab.User) error {
	defer s.Lock()()
	if _, ok := s.ByName[u.Name]; ok {
		return lab.Errorf(lab.KindConflict, "there is a user %q already", u.Name)
	}
	s.ByName[u.Name] = u
	return s.Broken
}

func (s *Store) UserByName(_ context.Context, name string) (lab.User, error) {
	defer s.Lock()()
	if s.Broken != nil {
		return lab.User{}, s.Broken
	}
	u, ok := s.ByName[name]
	if !ok {
		return u, lab.Errorf(lab.KindNotFound, "there is no user %q", name)
	}
	return u, nil
}

func (s *Store) Users(context.Context) ([]lab.User, error) {
	defer s.Lock()()
	return slices.SortedFunc(maps.Values(s.ByName), func(a, b lab.User) int { return cmp.Compare(a.Name, b.Name) }), s.Broken
}

func (s *Store) SetPassword(_ context.Context, name, hash string) error {
	defer s.Lock()()
	u, ok := s.ByName[name]
	if !ok {
		return lab.Errorf(lab.KindNotFound, "there is no user %q", name)
	}
	u.PasswordHash = hash
	s.ByName[name] = u
	return s.Broken
}

func (s *Store) CreateToken(_ context.Context, t lab.Token) error {
	defer s.Lock()()
	s.ByHash[string(t.Hash)] = t
	return s.Broken
}

func (s *Store) TokenByHash(_ context.Context, hash []byte) (lab.Token, error) {
	defer s.Lock()()
	if s.Broken != nil {
		return lab.Token{}, s.Broken
	}
	t, ok := s.ByHash[string(hash)]
	if !ok {
		return t, lab.Errorf(lab.KindNotFound, "there is no such token")
	}
	return t, nil
}

func (s *Store) TokenUsed(_ context.Context, name string, at time.Time) error {
	defer s.Lock()()
	for k, t := range s.ByHash {
		if t.Name == name {
			t.LastUsed = at
			s.ByHash[k] = t
		}
	}
	return nil
}

// Sessions is the table of sessions of a Store.
type Sessions struct{ *Store }

func (s Sessions) Find(token string) ([]byte, bool, error) {
	defer s.Lock()()
	k, ok := s.Kept[token]
	return k.data, ok && time.Now().Before(k.expiry), s.Broken
}

func (s Sessions) Commit(token string, b []byte, expiry time.Time) error {
	defer s.Lock()()
	s.Kept[token] = Session{b, expiry}
	return s.Broken
}

func (s Sessions) Delete(token string) error {
	defer s.Lock()()
	delete(s.Kept, token)
	return s.Broken
}
