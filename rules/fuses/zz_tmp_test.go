package fuses_test
import ("testing";"time";"fmt";"ferrule/netlist";"ferrule/netlist/graph";"ferrule/rules";"ferrule/netlist/netlisttest";"os";"ferrule/netlist/diag")
func TestTmpSpeed(t *testing.T){
 n,_,err:=netlist.Load(os.DirFS("../../examples/pickup"),"pickup.toml"); if err!=nil{t.Fatal(err)}
 run:=func(label string, g *graph.Graph){
  base:=time.Now(); rules.CheckWith(g, rules.Options{Only:[]string{"short-not-cleared","fuse-overloaded"}}); fmt.Println(label,"short+overloaded",time.Since(base))
  for _,r:=range rules.All(){ s:=time.Now(); res:=rules.CheckWith(g, rules.Options{Only:[]string{r.Name}}); w:=res.Findings.AtLeast(diag.Warning); fmt.Println(label,r.Name,time.Since(s),len(res.Findings),len(w)); for i,d:=range w{ if i<3 {fmt.Println("   ",d.Message,d.Rule)}}}
  s:=time.Now(); rules.CheckWith(g, rules.Options{}); fmt.Println(label,"all",time.Since(s))
 }
 run("pickup",graph.New(n))
 for _,k:=range []int{300,10000} { s:=time.Now(); m,_:=netlist.Parse("g.toml",[]byte(netlisttest.Harness(k))); fmt.Println("decode",k,time.Since(s)); run(fmt.Sprint("gen",k),graph.New(m)) }
}
