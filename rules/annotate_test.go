package rules_test
import ("testing";"os";"fmt";"strings";"path/filepath";"sort";"ferrule/netlist";"ferrule/netlist/graph";"ferrule/netlist/diag";"ferrule/rules";"ferrule/rules/rulestest")
func TestAnnotate(t *testing.T){
 files,_:=filepath.Glob(os.Getenv("G"))
 for _,f:=range files{
  text,_:=os.ReadFile(f)
  var lines []string
  for _,l:=range strings.Split(string(text),"\n"){ if len(rulestest.Expectations("",l))==0 {lines=append(lines,l)} }
  clean:=strings.Join(lines,"\n")
  n,d:=netlist.Parse("x",[]byte(clean))
  all:=append(d, rules.Check(graph.New(n)).Findings...)
  by:=map[int]diag.List{}
  for _,x:=range all{ by[x.Span.Begin().Line]=append(by[x.Span.Begin().Line],x)}
  var out []string
  for i,l:=range lines{ out=append(out,l)
    list:=by[i+1]; sort.SliceStable(list,func(a,b int)bool{return list[a].Span.Begin().Column<list[b].Span.Begin().Column})
    for _,x:=range list{ b,e:=x.Span.Begin(),x.Span.Finish(); ec:=e.Column; if e.Line!=b.Line{ec=len([]rune(l))+1}
     c:="#"; if b.Column==1 {c+=strings.Repeat("^",ec-2)} else {c+=strings.Repeat(" ",b.Column-2)+strings.Repeat("^",ec-b.Column)}
     if b.Column==1&&ec==2 {} else {c+=" "}
     out=append(out,fmt.Sprintf("%s%s[%s]: %s",c,x.Severity,x.Rule,x.Message)) }
  }
  if os.Getenv("W")!="" { os.WriteFile(f,[]byte(strings.Join(out,"\n")),0o644) }
  fmt.Println("=====",f); for _,l:=range out { if len(rulestest.Expectations("",l))>0 {fmt.Println("  ",l)} }
  for _,x:=range all{ fmt.Println("     H:",x.Span.Begin(),x.Help,x.Refs); for _,y:=range x.Related{fmt.Println("         -",y.Message)}}
 }
}
