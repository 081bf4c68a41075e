// On paper a pattern is drawn tile by tile inside its shape, since browsers print patterns blurred.
(function(){
"use strict";
var drawn=[];
function made(name,told){
var e=document.createElementNS(document.querySelector("svg").namespaceURI,name);
Object.keys(told).forEach(function(key){e.setAttribute(key,told[key]);});return e;}
function tile(pattern){var id="tile-"+pattern.id;
if(!document.getElementById(id)){var held=made("g",{id:id});
held.append.apply(held,Array.from(pattern.cloneNode(true).children));
var defs=made("defs",{});defs.append(held);pattern.ownerSVGElement.append(defs);drawn.push(defs);}
return id;}
function tiled(shape,number){
var fill=shape.getAttribute("fill"),pattern=document.getElementById(fill.slice(5,-1));
if(!pattern)return;
var k=pattern.patternTransform.baseVal.consolidate().matrix.a,b=shape.getBBox();
var side=Number(pattern.getAttribute("width"))*k,id=tile(pattern),places=[];
for(var y=Math.floor(b.y/side)*side;y<b.y+b.height;y+=side)
for(var x=Math.floor(b.x/side)*side;x<b.x+b.width;x+=side)
places.push('<use href="#'+id+'" transform="translate('+x.toFixed(1)+" "+y.toFixed(1)+") scale("+k+')"/>');
var clip=made("clipPath",{id:"inside-"+number}),same=shape.cloneNode(false);
same.removeAttribute("id");clip.append(same);
var group=made("g",{"clip-path":"url(#inside-"+number+")"});group.innerHTML=places.join("");
shape.after(clip,group);drawn.push(clip,group);
shape.setAttribute("fill","none");shape.dataset.fill=fill;}
window.addEventListener("beforeprint",function(){
Array.from(document.querySelectorAll('svg [fill^="url(#"]')).filter(function(shape){
return shape.getClientRects().length;}).forEach(tiled);});
window.addEventListener("afterprint",function(){
drawn.forEach(function(e){e.remove();});drawn=[];
document.querySelectorAll("[data-fill]").forEach(function(shape){
shape.setAttribute("fill",shape.dataset.fill);delete shape.dataset.fill;});});
})();
