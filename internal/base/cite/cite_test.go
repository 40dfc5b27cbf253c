package cite

import "testing"

func TestString(t *testing.T) {
	for want, s := range map[string]Source{
		"IEC 60228:2004, table 2":           {Title: "IEC 60228:2004", Where: "table 2"},
		"IEC 60228:2004 (from memory)":      {Title: "IEC 60228:2004", Standing: FromMemory},
		"a tape's sheet, rest from memory":  {Title: "a tape's sheet, rest from memory", Standing: FromMemory},
		"common practice, no source":        {Standing: CommonPractice},
		"page 3":                            {Where: "page 3"},
		"our own estimate":                  {Standing: Judgement},
		"a report, p. 2 (our own estimate)": {Title: "a report", Where: "p. 2", Standing: Judgement},
	} {
		if got := s.String(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("an unknown standing has a name")
		}
	}()
	_ = Standing(99).String()
}
