package broker

import "sync"

// mostRetained bounds the retained messages, one status a unit. A unit with a
// key has one; on loopback anybody can make up names.
const mostRetained = 1024

// retained counts the topics under which something is kept since the start.
// Safe for concurrent use.
type retained struct {
	mu     sync.Mutex
	topics map[string]bool
}

// take tells whether a topic may have a retained message.
func (r *retained) take(topic string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.topics[topic] && len(r.topics) >= mostRetained {
		return false
	}
	r.topics[topic] = true
	return true
}
