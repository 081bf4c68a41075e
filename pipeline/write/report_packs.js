// What stands packed in the page is unpacked when it is asked for.
"use strict";
function unpack(holder,done){
var text=holder.dataset.packed;
if(!text||!window.DecompressionStream)return;
delete holder.dataset.packed;
var bytes=Uint8Array.from(atob(text),function(c){return c.charCodeAt(0);});
var stream=new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
new Response(stream).text().then(function(html){
var held=document.createElement("template");held.innerHTML=html;done(held.content);});}
