// Switches, pointer and keyboard of the report. Without it the page is whole, only still.
(function(){
"use strict";
var map=document.getElementById("map"),card=document.getElementById("card");
if(!map)return;
var whole=map.getAttribute("viewBox").split(" ").map(Number),view=whole.slice();
var season=document.getElementById("season-map");
var units=Array.from(map.querySelectorAll(".unit")),chosen=null;
function all(selector){return Array.from(document.querySelectorAll(selector));}
function pixel(svg,w,h){var b=svg.getBoundingClientRect();
return Math.max(w/(b.width||960),h/(b.height||960));}
function fit(svg,w,h){var k=pixel(svg,w,h);
svg.setAttribute("font-size",Number(svg.dataset.labelPx)*k);
svg.querySelectorAll("pattern").forEach(function(p){
p.setAttribute("patternTransform","scale("+k+")");});}
// A name is shown from the scale on at which it lies on no name of a larger unit and on no mark
// of a conflict; those that are only good to know give way to names.
var names=[],em=Number(map.dataset.labelPx);
function area(n,sizes){var least=0;sizes.forEach(function(s){
if(n.x>=s.b.x&&n.x<=s.b.x+s.b.width&&n.y>=s.b.y&&n.y<=s.b.y+s.b.height)
least=least?Math.min(least,s.area):s.area;});return n.of?least*0.99:least;}
function measure(){
var pen=document.createElement("canvas").getContext("2d");
pen.font="600 "+em+"px "+getComputedStyle(map.querySelector("text")).fontFamily;
function size(t){return pen.measureText(t.textContent).width+6;}
var marks=Array.from(map.querySelectorAll('[data-layer="conflicts"] use')).reverse();
names=marks.map(function(u){var more=u.parentNode.querySelector("[dx]");
return {x:Number(u.getAttribute("x")),y:Number(u.getAttribute("y")),high:28,
wide:28+(more?2*size(more):0),parts:[u.parentNode],
area:u.getAttribute("href")==="#sign-know"?0:Infinity};});
var at=new Map(),sizes=units.map(function(u){var b=u.getBBox();
return {b:b,area:b.width*b.height};});
Array.from(map.querySelectorAll('[data-layer="labels"] text,[data-theme] text,text.of'))
.forEach(function(t){
var key=t.getAttribute("x")+" "+t.getAttribute("y"),n=at.get(key);
if(!n){n={x:Number(t.getAttribute("x")),y:Number(t.getAttribute("y")),wide:0,parts:[],
high:em*3,of:t.classList.contains("of")};n.area=area(n,sizes);at.set(key,n);names.push(n);}
n.parts.push(t);n.wide=Math.max(n.wide,size(t));});
names.sort(function(a,b){return a.area===b.area?0:b.area-a.area;});
names.forEach(function(n,i){n.from=0;
for(var j=0;j<i;j++){var m=names[j];
var s=Math.min((n.wide+m.wide)/2/(Math.abs(n.x-m.x)||1e-9),
(n.high+m.high)/2/(Math.abs(n.y-m.y)||1e-9));
if(s>m.from)n.from=Math.max(n.from,s);}});}
function thin(k){names.forEach(function(n){n.parts.forEach(function(t){
t.toggleAttribute("hidden",k<n.from);});});}
var bar=document.getElementById("scale"),PER_FT=Number(bar.dataset.perFt);
function measured(){
var most=0.24*view[2]/PER_FT,ten=Math.pow(10,Math.floor(Math.log10(most)));
var feet=[5,2,1].map(function(n){return n*ten;}).find(function(n){return n<=most;});
var u=view[2]/100,x=view[0]+2*u,y=view[1]+view[3]-2*u,l=feet*PER_FT,c=bar.children;
c[0].setAttribute("d","M"+x+" "+(y-u)+"v"+u+"h"+l+"v"+-u+"m"+-l/2+" "+u+"v"+-u/2);
c[1].setAttribute("x",x);c[1].setAttribute("y",y-u);
c[1].textContent=feet.toLocaleString("en")+" ft";
var m=x+l+4*u,t=view[1]+view[3]-9*u;
c[2].setAttribute("d","M"+m+" "+y+"V"+(t+2*u)+"m"+-u+" "+2*u+"l"+u+" "+-2*u+"l"+u+" "+2*u);
c[3].setAttribute("x",m);c[3].setAttribute("y",t+2*u);}
function size(){fit(map,view[2],view[3]);thin(1/pixel(map,view[2],view[3]));measured();
if(season){var s=season.viewBox.baseVal;fit(season,s.width,s.height);}
map.classList.toggle("near",view[2]<whole[2]*0.999);}
function show(next){var w=Math.min(Math.max(next[2],whole[2]/60),whole[2]),h=w*whole[3]/whole[2];
var x=Math.min(Math.max(next[0],whole[0]),whole[0]+whole[2]-w);
var y=Math.min(Math.max(next[1],whole[1]),whole[1]+whole[3]-h);
view=[x,y,w,h];map.setAttribute("viewBox",view.join(" "));size();}
function zoom(factor,at){var p=at||[view[0]+view[2]/2,view[1]+view[3]/2];
show([p[0]-(p[0]-view[0])*factor,p[1]-(p[1]-view[1])*factor,view[2]*factor]);}
function pan(x,y){show([view[0]+x*view[2],view[1]+y*view[2],view[2]]);}
function place(e){var m=map.getScreenCTM().inverse();
return [e.clientX*m.a+m.e,e.clientY*m.d+m.f];}
var cards=[];
unpack(document.getElementById("cards"),function(held){cards=Array.from(held.children);});
function tell(node){var told=cards[Number(node.dataset.unit)];
if(!told)return hint(node.getAttribute("aria-label"));
card.replaceChildren.apply(card,told.cloneNode(true).childNodes);}
function hint(text){var p=document.createElement("p");p.textContent=text;card.replaceChildren(p);}
function choose(node){if(chosen)chosen.setAttribute("aria-pressed","false");
chosen=node===chosen?null:node;
if(chosen){chosen.setAttribute("aria-pressed","true");tell(chosen);}}
function seen(node){var b=node.getBBox(),w=Math.max(b.width,b.height*whole[2]/whole[3])*1.6;
show([b.x+b.width/2-w/2,b.y+b.height/2-w*whole[3]/whole[2]/2,w]);}
function under(e){var u=e.target.closest(".unit"),t=e.target.querySelector("title");
if(u)tell(u);else if(t)hint(t.textContent);return u;}
var fingers=new Map(),moved=0,apart=0;
function spread(){var f=Array.from(fingers.values());
return Math.hypot(f[0].clientX-f[1].clientX,f[0].clientY-f[1].clientY);}
map.addEventListener("pointerdown",function(e){fingers.set(e.pointerId,e);moved=0;
if(fingers.size===2)apart=spread();});
map.addEventListener("pointermove",function(e){var old=fingers.get(e.pointerId);
if(!old){if(!chosen)under(e);return;}
fingers.set(e.pointerId,e);
if(fingers.size===2){var now=spread();if(apart&&now)zoom(apart/now,place(e));apart=now;moved=99;
return;}
moved+=Math.hypot(e.clientX-old.clientX,e.clientY-old.clientY);
if(moved>5&&fingers.size===1){map.classList.add("moving");var k=pixel(map,view[2],view[3]);
show([view[0]-(e.clientX-old.clientX)*k,view[1]-(e.clientY-old.clientY)*k,view[2]]);}});
function lift(e){fingers.delete(e.pointerId);map.classList.remove("moving");}
window.addEventListener("pointerup",lift);window.addEventListener("pointercancel",lift);
map.addEventListener("click",function(e){if(moved>5)return;var u=under(e);if(u)choose(u);});
map.addEventListener("wheel",function(e){if(!e.ctrlKey&&!map.contains(document.activeElement))return;
e.preventDefault();zoom(e.deltaY>0?1.2:1/1.2,place(e));},{passive:false});
units.forEach(function(u){u.addEventListener("focus",function(){tell(u);});});
var keys={ArrowLeft:function(){pan(-0.15,0);},ArrowRight:function(){pan(0.15,0);},
ArrowUp:function(){pan(0,-0.15);},ArrowDown:function(){pan(0,0.15);},
"+":function(){zoom(0.7);},"=":function(){zoom(0.7);},"-":function(){zoom(1/0.7);},
"0":function(){show(whole);}};
map.addEventListener("keydown",function(e){var u=e.target.closest(".unit");
if(e.ctrlKey||e.metaKey||e.altKey)return;
if(u&&(e.key==="Enter"||e.key===" ")){choose(u);e.preventDefault();}
else if(keys[e.key]){keys[e.key]();e.preventDefault();}});
all("[data-do]").forEach(function(b){b.addEventListener("click",function(){keys[b.dataset.do]();});});
function find(n){var u=units[n];if(u!==chosen)choose(u);seen(u);
map.closest(".plat").scrollIntoView({block:"center"});u.focus({preventScroll:true});}
document.addEventListener("click",function(e){var b=e.target.closest("[data-find]");
if(b)find(Number(b.dataset.find));});
document.addEventListener("find",function(e){find(e.detail);});
function follow(){
all("input[data-shows]").forEach(function(i){i.closest("label").classList.toggle("off",!i.checked);
map.querySelectorAll('[data-layer="'+i.dataset.shows+'"]').forEach(function(g){
g.toggleAttribute("hidden",!i.checked);});});
all("input[data-fills]").forEach(function(i){i.closest("label").classList.toggle("off",!i.checked);
var key=document.getElementById("key-"+i.dataset.fills);
if(key)key.toggleAttribute("hidden",!i.checked);
map.querySelectorAll('[data-theme="'+i.dataset.fills+'"]').forEach(function(g){
g.toggleAttribute("hidden",!i.checked);});});}
all("input[data-shows],input[data-fills]").forEach(function(i){i.addEventListener("change",follow);});
window.addEventListener("resize",size);
var against=document.querySelector(".conflicts");
if(against&&window.innerWidth>900)all(".stop>details,.conflicts>details").some(function(d){
d.open=true;var last=d.closest(".stop")||against.lastElementChild;
var over=last.getBoundingClientRect().bottom>window.innerHeight;
if(over)d.open=false;return over;});
var opened=[];
window.addEventListener("beforeprint",function(){show(whole);
opened=all("details[data-print]:not([open])");opened.forEach(function(d){d.open=true;});});
window.addEventListener("afterprint",function(){opened.forEach(function(d){d.open=false;});size();});
measure();follow();size();
})();
