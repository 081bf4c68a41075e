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
function emptied(e){e.dataset.fill=e.getAttribute("fill");e.setAttribute("fill","none");}
// A fill that a group tells is that of each of its paths.
function filled(e){
if(e.tagName!=="g")return [e];
emptied(e);return Array.from(e.children).filter(function(part){
return part.tagName==="path"&&!part.hasAttribute("fill");});}
function tiled(shape,number){
var fill=shape.getAttribute("fill")||shape.parentNode.dataset.fill;
var pattern=document.getElementById(fill.slice(5,-1));
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
if(shape.hasAttribute("fill"))emptied(shape);}
window.addEventListener("beforeprint",function(){
Array.from(document.querySelectorAll('svg [fill^="url(#"]')).flatMap(filled).filter(function(shape){
return shape.getClientRects().length;}).forEach(tiled);});
window.addEventListener("afterprint",function(){
drawn.forEach(function(e){e.remove();});drawn=[];
document.querySelectorAll("[data-fill]").forEach(function(shape){
shape.setAttribute("fill",shape.dataset.fill);delete shape.dataset.fill;});});
})();
