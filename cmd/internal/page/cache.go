package page

import (
	"container/list"
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

func (c *cache) put(p *coded) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at[p.key] != nil || len(p.data) > c.most {
		return
	}
	c.at[p.key] = c.order.PushFront(p)
	c.bytes += len(p.data)
	for c.bytes > c.most {
		e := c.order.Back()
		old := c.order.Remove(e).(*coded)
		delete(c.at, old.key)
		c.bytes -= len(old.data)
	}
}
