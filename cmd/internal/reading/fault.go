package reading

// Fault is an error of what a reading was given: what is wrong, and what to do.
type Fault struct{ fact, hint string }

func fault(fact, hint string) *Fault { return &Fault{fact, hint} }

func (f *Fault) Error() string { return f.fact }

// Hint says what to do next.
func (f *Fault) Hint() string { return f.hint }
