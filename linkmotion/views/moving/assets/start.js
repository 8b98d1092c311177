const page = new Page(JSON.parse($("data").textContent));
window.linkmotion = page;
document.documentElement.dataset.ready = "yes";
performance.mark("ready");
