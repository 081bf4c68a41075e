// Tables of the report: sorted by a heading, kept to the units asked for. Whole without it.
(function(){
"use strict";
var collator=new Intl.Collator("en",{numeric:true,sensitivity:"base"});
function all(selector,within){return Array.from((within||document).querySelectorAll(selector));}
function value(cell){var text=cell?cell.textContent.trim():"";
if(text===""||text==="–")return null;
var number=Number(text.replace(/,/g,"").replace("−","-").replace(/^\+/,""));
return isNaN(number)?text:number;}
function compare(a,b){return typeof a==="number"&&typeof b==="number"?a-b:
collator.compare(String(a),String(b));}
// A row and the sentences below it stay together.
function groups(table){var found=[];
Array.from(table.tBodies[0].rows).forEach(function(row){
if(row.className==="under"&&found.length)found[found.length-1].push(row);else found.push([row]);});
return found;}
function sort(table,place,down){
var keyed=groups(table).map(function(rows,at){
return {rows:rows,key:value(rows[0].cells[place]),at:at};});
keyed.sort(function(a,b){
if(a.key===null||b.key===null)return (a.key===null)-(b.key===null)||a.at-b.at;
return (down?-1:1)*compare(a.key,b.key)||a.at-b.at;});
keyed.forEach(function(group){group.rows.forEach(function(row){
table.tBodies[0].appendChild(row);});});}
function tables(within){return all("table",within).filter(function(t){
return t.tHead&&t.tBodies[0]&&t.closest("main section");});}
function ready(within){tables(within).forEach(function(table){
if(groups(table).length<3)return;
var heads=Array.from(table.tHead.rows[0].cells);
heads.forEach(function(head,place){
var button=document.createElement("button");
button.type="button";button.className="sort";
while(head.firstChild)button.appendChild(head.firstChild);
head.appendChild(button);
button.addEventListener("click",function(){
var down=head.getAttribute("aria-sort")==="ascending";
heads.forEach(function(other){other.removeAttribute("aria-sort");});
head.setAttribute("aria-sort",down?"descending":"ascending");
sort(table,place,down);});});});}
ready(document);
var field=document.getElementById("only"),told=document.getElementById("only-told");
if(!field)return;
field.closest(".only").hidden=false;
var names=all("#map .unit").map(function(u){return u.getAttribute("aria-label").toLowerCase();});
// A fold that is opened is unpacked; it is opened too where a link leads into it.
document.addEventListener("toggle",function(e){var fold=e.target;
if(fold.open&&fold.dataset.packed)unpack(fold,function(held){
while(fold.children.length>1)fold.lastChild.remove();
fold.appendChild(held);ready(fold);if(field.value)keep();});},true);
function unfold(){var at=document.getElementById(location.hash.slice(1));
var fold=at&&at.querySelector("details.section");if(fold)fold.open=true;}
window.addEventListener("hashchange",unfold);unfold();
function keep(){
var asked=field.value.trim().toLowerCase();
var shown=names.map(function(name){return name.indexOf(asked)>=0;});
tables(document).forEach(function(table){groups(table).forEach(function(rows){
var leads=all(".find",rows[0]).map(function(f){return Number(f.dataset.find);});
var hide=leads.length>0&&!leads.some(function(n){return shown[n];});
rows.forEach(function(row){row.hidden=hide;});});});
all(".charts figure").forEach(function(figure){
figure.hidden=figure.textContent.toLowerCase().indexOf(asked)<0;});
var count=shown.filter(Boolean).length;
told.textContent=asked?count+" of "+names.length+" units shown in the tables":"";
return shown;}
var waiting=0;
field.addEventListener("input",function(){clearTimeout(waiting);waiting=setTimeout(keep,80);});
field.addEventListener("keydown",function(e){if(e.key!=="Enter")return;
var shown=keep(),first=shown.indexOf(true);
if(first>=0&&shown.lastIndexOf(true)===first){
document.dispatchEvent(new CustomEvent("find",{detail:first}));}});
window.addEventListener("beforeprint",function(){
if(field.value){field.value="";keep();}});
})();
