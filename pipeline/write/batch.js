// Sorts a table by the heading that is pressed; a row of sentences stays below its own row.
(function(){
"use strict";
var dash="\u2013";
function key(row,place){var cell=row.cells[place],text=cell?cell.textContent.trim():"";
if(text===dash||text==="")return null;
var plain=text.replace(/,/g,"").replace("\u2212","-");
return plain!==""&&isFinite(plain)?Number(plain):text;}
function order(a,b){if(typeof a===typeof b&&typeof a==="number")return a-b;
return String(a).localeCompare(String(b),"en",{numeric:true});}
function sort(table,place,sign){var body=table.tBodies[0],groups=[];
Array.from(body.rows).forEach(function(row){
if(row.classList.contains("under"))groups[groups.length-1].push(row);else groups.push([row]);});
groups.map(function(g,n){return {rows:g,key:key(g[0],place),n:n};}).sort(function(a,b){
if(a.key===null||b.key===null)return (a.key===null)-(b.key===null)||a.n-b.n;
return sign*order(a.key,b.key)||a.n-b.n;}).forEach(function(g){
g.rows.forEach(function(row){body.appendChild(row);});});}
document.querySelectorAll("table").forEach(function(table){
Array.from(table.tHead.rows[0].cells).forEach(function(th,place){
var button=document.createElement("button");button.type="button";
while(th.firstChild)button.appendChild(th.firstChild);th.appendChild(button);
button.addEventListener("click",function(){
var down=th.getAttribute("aria-sort")!=="descending";
Array.from(table.tHead.rows[0].cells).forEach(function(o){o.removeAttribute("aria-sort");});
th.setAttribute("aria-sort",down?"descending":"ascending");
sort(table,place,down?-1:1);});});});
})();
