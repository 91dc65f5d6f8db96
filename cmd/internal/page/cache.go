package page

import (
	"container/list"
	"strings"
	"sync"
)

// cacheBytes is how much of coded pictures is kept.
const cacheBytes = 64 << 20

// cache keeps the coded pictures used last.
type cache struct {
	mu    sync.Mutex
	most  int
	bytes int
	order *list.List // of *coded, the last used first
	at    map[string]*list.Element
}

// coded is a picture as it goes to the browser.
type coded struct {
	key, kind string
	data      []byte
	broken    bool
}

func newCache(most int) *cache {
	return &cache{most: most, order: list.New(), at: map[string]*list.Element{}}
}

func (c *cache) get(key string) *coded {
	c.mu.Lock()
	defer c.mu.Unlock()
	e := c.at[key]
	if e == nil {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(*coded)
}

// forget lets go of all pictures of a take.
func (c *cache) forget(id string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for key, e := range c.at {
		if strings.HasPrefix(key, id+" ") {
			c.drop(e)
		}
	}
}

// drop is called with mu held.
func (c *cache) drop(e *list.Element) {
	old := c.order.Remove(e).(*coded)
	delete(c.at, old.key)
	c.bytes -= len(old.data)
}

func (c *cache) put(p *coded) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[p.key] != nil || len(p.data) > c.most {
		return
	}
	c.at[p.key] = c.order.PushFront(p)
	c.bytes += len(p.data)
	for c.bytes > c.most {
		c.drop(c.order.Back())
	}
}
