(function(){
var r=document.getElementById("PICTURE"),q=function(s){return r.querySelector(s)},p=q(".plan"),t=q(".info"),A=q(".axes"),B=q(".bar");
if(!p)return;
var nums=function(s){return s.split(" ").map(Number)},home=nums(p.getAttribute("viewBox")),v=home.slice(),f0=+p.getAttribute("font-size");
var X=+p.getAttribute("x"),Y=+p.getAttribute("y"),W=+p.getAttribute("width"),H=+p.getAttribute("height"),fine=+p.getAttribute("data-fine");
var die=nums(A.getAttribute("data-die")),zero=nums(A.getAttribute("data-zero")),all=[].slice.call(r.querySelectorAll("[data-n]"));
var first=all.filter(function(e){return e.classList.contains("on")}).map(function(e){return e.getAttribute("data-n")}),kept=null,over=null,from=null,moved=0;
t.style.display="inline";var hint=t.textContent;
function choose(list){r.classList.toggle("some",list.length>0);all.forEach(function(e){e.classList.toggle("on",list.indexOf(e.getAttribute("data-n"))>=0)})}
function say(n){var e=n==null?null:p.querySelector('g[data-n="'+n+'"]>title');t.textContent=e?e.textContent.split("\n").join("  ·  "):hint}
function group(e){return e.target.closest?e.target.closest("g[data-n]"):null}
function step(least){var d=Math.pow(10,Math.floor(Math.log10(least)));return[1,2,5,10].map(function(m){return m*d}).find(function(s){return s>=least*.999999})}
function path(k,d){return'<path class="'+k+'" d="'+d+'"/>'}
function word(k,x,y,s){return'<text class="'+k+'" x="'+x.toFixed(2)+'" y="'+y.toFixed(2)+'">'+s+"</text>"}
function draw(){
 var k=W/v[2],z=home[2]/v[2],i,s,h="";
 p.setAttribute("viewBox",v.join(" "));p.setAttribute("font-size",f0/z);p.classList.toggle("coarse",z<fine);
 q(".t").style.fontSize=[1,1.2,1.4,1.5,1.6][Math.max(0,Math.min(4,Math.floor(Math.log2(z)+.01)))]+"em";
 [1,2,3,4].forEach(function(l){r.querySelectorAll(".l"+l).forEach(function(e){e.style.display=z>=Math.pow(2,l)*.99?"inline":"none"})});
 var least=64/k/1e3;s=step(least);var dec=Math.max(0,-Math.floor(Math.log10(s)+1e-9));
 var a=Math.max(die[0],v[0]),b=Math.min(die[1],v[0]+v[2]),y=Y+H+6,at=function(u){return X+(u-v[0])*k};
 if(b>a)h+=path("ax","M"+at(a)+" "+y+"H"+at(b));
 for(i=Math.ceil((a-zero[0])/1e3/s-1e-6);i*s<=(b-zero[0])/1e3+s*1e-6;i++){var x=at(zero[0]+i*s*1e3);h+=path("ax","M"+x+" "+y+"v4")+word("tk mid",x,y+16,(i*s).toFixed(dec))}
 q(".tx").innerHTML=h;h="";
 a=Math.max(die[2],v[1]);b=Math.min(die[3],v[1]+v[3]);x=X-6;at=function(u){return Y+(u-v[1])*k};
 if(b>a)h+=path("ax","M"+x+" "+at(a)+"V"+at(b));
 for(i=Math.ceil((zero[1]-b)/1e3/s-1e-6);i*s<=(zero[1]-a)/1e3+s*1e-6;i++){y=at(zero[1]-i*s*1e3);h+=path("ax","M"+x+" "+y+"h-4")+word("tk end",x-7,y+3.5,(i*s).toFixed(dec))}
 q(".ty").innerHTML=h;
 var most=150/k/1e3;s=step(most*.500001);if(s>most)s=step(most*.4);if(s>most)s=step(most*.2);
 var R=+B.getAttribute("data-right"),y0=+B.getAttribute("data-y"),L=s*1e3*k;
 B.innerHTML=path("sb","M"+(R-L)+" "+(y0-5)+"v5H"+R+"v-5")+word("words mid",R-L/2,y0-5,s<.1?+(s*1e3).toFixed(3)+" um":+s.toFixed(3)+" mm");
}
function place(e){var m=r.getScreenCTM().inverse();return[m.a*e.clientX+m.e,m.d*e.clientY+m.f]}
function zoom(f,x,y){
 f=Math.max(f,1/64*home[2]/v[2]);var w=v[2]/f>home[2]?home[2]:v[2]/f,g=w/v[2];
 v[0]+=x*v[2]*(1-g);v[1]+=y*v[3]*(1-g);v[2]=w;v[3]*=g;if(w==home[2])v=home.slice();draw();
}
p.addEventListener("mouseover",function(e){var g=group(e),n=g?g.getAttribute("data-n"):null;if(n===over)return;all.forEach(function(x){x.classList.toggle("hi",n!=null&&x.getAttribute("data-n")===n)});over=n;say(n==null?kept:n)});
p.addEventListener("mouseleave",function(){all.forEach(function(x){x.classList.remove("hi")});over=null;say(kept)});
p.addEventListener("click",function(e){if(moved>4)return;var g=group(e),n=g?g.getAttribute("data-n"):null;kept=n===kept?null:n;choose(kept==null?(g?[]:first):[kept]);say(kept)});
p.addEventListener("wheel",function(e){if(document.documentElement!==r&&!e.ctrlKey)return;e.preventDefault();var c=place(e);zoom(Math.pow(1.0015,-e.deltaY),(c[0]-X)/W,(c[1]-Y)/H)},{passive:false});
p.addEventListener("mousedown",function(e){from=place(e);moved=0;e.preventDefault()});
window.addEventListener("mousemove",function(e){if(!from)return;var c=place(e),dx=c[0]-from[0],dy=c[1]-from[1];moved+=Math.abs(dx)+Math.abs(dy);from=c;if(v[2]<home[2]){v[0]-=dx*v[2]/W;v[1]-=dy*v[3]/H;draw()}});
window.addEventListener("mouseup",function(){from=null});
p.addEventListener("dblclick",function(){v=home.slice();draw()});
})()
