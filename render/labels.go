package render

import (
	"bytes"
	"fmt"
	"strings"

	"ferrule/render/canvas"
	"ferrule/render/canvas/pdf"
	"ferrule/render/canvas/svg"
	"ferrule/render/label"
	"ferrule/render/sheet"
)

// labelsName is the word for labels: of the file for the first stock, and before the name of every other.
const labelsName = "labels"

func labelFile(stock label.Stock) string {
	if stock.Name == "" {
		return labelsName
	}
	return labelsName + "-" + strings.ToLower(stock.Name)
}

// labelFiles makes a PDF for each stock that labels are printed on, and says what did not fit. Labels are never cut for
// another paper: they come out at true size or not at all.
func labelFiles(in Input, s *sheet.Set) ([]File, error) {
	labels := label.Of(s)
	if len(labels) == 0 {
		return nil, nil
	}
	var files []File
	stocks := label.Stocks(s.Netlist)
	of := label.Assigned(labels, stocks)
	for i, stock := range stocks {
		printed := label.Print(of[i], stock)
		if len(printed.Pages) == 0 {
			continue // another tape has them all
		}
		in.tellLabels(printed)
		data, err := labelPDF(in, printed.Pages)
		if err != nil {
			return nil, fmt.Errorf("making %s.pdf: %w", labelFile(stock), err)
		}
		files = append(files, File{labelFile(stock) + ".pdf", data})
	}
	return files, nil
}

// labelInfos names the files of labels.
func labelInfos(s *sheet.Set) []SheetInfo {
	stocks := label.Stocks(s.Netlist)
	var infos []SheetInfo
	for i, labels := range label.Assigned(label.Of(s), stocks) {
		if len(labels) > 0 {
			infos = append(infos, SheetInfo{Name: labelFile(stocks[i]), Title: fmt.Sprintf("Labels, %d on %s: %s.pdf", len(labels), stocks[i].Words(), labelFile(stocks[i]))})
		}
	}
	return infos
}

func labelPDF(in Input, pages []*canvas.Page) ([]byte, error) {
	var out bytes.Buffer
	if err := pdf.Write(&out, docOf(in), pages); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// tellLabels says what has no room on a stock.
func (in Input) tellLabels(printed label.Printed) {
	if in.Say == nil {
		return
	}
	for _, text := range printed.Short {
		in.Say(text)
	}
}

// drawLabels makes the labels of one stock, by the name of its file without the ending; false when the name is none.
func drawLabels(in Input, s *sheet.Set, name, format string) ([]byte, bool, error) {
	if name != labelsName && !strings.HasPrefix(name, labelsName+"-") {
		return nil, false, nil
	}
	var names []string
	stocks := label.Stocks(s.Netlist)
	of := label.Assigned(label.Of(s), stocks)
	for i, stock := range stocks {
		if labelFile(stock) != strings.ToLower(name) {
			names = append(names, labelFile(stock))
			continue
		}
		printed := label.Print(of[i], stock)
		if len(printed.Pages) == 0 {
			return nil, true, fmt.Errorf("nothing of this harness is labelled with %q", name)
		}
		in.tellLabels(printed)
		if format == "pdf" {
			data, err := labelPDF(in, printed.Pages)
			return data, true, err
		}
		if len(printed.Pages) > 1 {
			return nil, true, fmt.Errorf("%q is %d pages and an SVG holds one; ask for pdf", name, len(printed.Pages))
		}
		var out bytes.Buffer
		err := svg.Write(&out, printed.Pages[0])
		return out.Bytes(), true, err
	}
	return nil, true, fmt.Errorf("there are no labels %q; there are: %s", name, strings.Join(names, ", "))
}
