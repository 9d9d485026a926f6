package rules

import ("testing";"os";"fmt";"ferrule/netlist";"ferrule/netlist/graph";"time")
func TestTry(t *testing.T){
 dir:=os.Getenv("D"); 
 n,d,err:=netlist.Load(os.DirFS(dir),os.Getenv("F"))
 if err!=nil{t.Fatal(err)}
 for _,x:=range d{ fmt.Println(x.Span.File.Name,x.Span.Begin(),x.Severity,x.Rule,x.Message,x.Help)}
 g:=graph.New(n)
 t0:=time.Now()
 r:=Check(g)
 fmt.Println(time.Since(t0))
 for _,x:=range r.Findings{ fmt.Println(x.Span.File.Name,x.Span.Begin(),x.Severity,x.Rule,x.Message,"|",x.Help,x.Refs); for _,y:=range x.Related{fmt.Println("      ",y.Message)}}
}
