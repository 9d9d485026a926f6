package render

import (
	"bytes"
	"fmt"

	"ferrule/render/canvas/svg"
	"ferrule/render/sheet"
)

// cardsName is the word for the cards, and the name of their file without its ending.
const cardsName = "cards"

// cardFiles makes the PDF of the cards; none where there is nothing to put one on. Like labels they are never cut for another paper.
func cardFiles(in Input, s *sheet.Set) ([]File, error) {
	pages := s.Cards()
	if len(pages) == 0 {
		return nil, nil
	}
	data, err := labelPDF(in, pages)
	if err != nil {
		return nil, fmt.Errorf("making %s.pdf: %w", cardsName, err)
	}
	return []File{{cardsName + ".pdf", data}}, nil
}

// cardInfos names the file of the cards.
func cardInfos(s *sheet.Set) []SheetInfo {
	if pages := s.Cards(); len(pages) > 0 {
		return []SheetInfo{{Name: cardsName, Title: "Cards to cut out, for studs, connectors and lids: " + cardsName + ".pdf"}}
	}
	return nil
}

// drawCards makes the cards alone; false when the name is not theirs.
func drawCards(in Input, s *sheet.Set, name, format string) ([]byte, bool, error) {
	if name != cardsName {
		return nil, false, nil
	}
	pages := s.Cards()
	switch {
	case len(pages) == 0:
		return nil, true, fmt.Errorf("this harness has no studs, connectors and panels: there are no cards")
	case format == "pdf":
		data, err := labelPDF(in, pages)
		return data, true, err
	case len(pages) > 1:
		return nil, true, fmt.Errorf("%q is %d pages and an SVG holds one; ask for pdf", name, len(pages))
	}
	var out bytes.Buffer
	err := svg.Write(&out, pages[0])
	return out.Bytes(), true, err
}
