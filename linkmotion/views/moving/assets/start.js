const page = new Page(JSON.parse($("data").textContent));
window.linkmotion = page;
if ($("bench")) page.live = new Live(page);
document.documentElement.dataset.ready = "yes";
performance.mark("ready");
