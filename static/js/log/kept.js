// Without a connection, a coach is shown which groups' logs this device keeps.

const PAGES = "fledge-pages-";
const list = document.querySelector("[data-kept-groups]");

async function keptGroups() {
  const found = [];
  for (const name of await caches.keys()) {
    if (!name.startsWith(PAGES)) continue;
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const { pathname } = new URL(request.url);
      if (/^\/sessions\/\d+\/group\/$/.test(pathname))
        found.push([pathname, await (await cache.match(request)).text()]);
    }
  }
  return found;
}

for (const [href, html] of await keptGroups()) {
  const page = new DOMParser().parseFromString(html, "text/html");
  const day = page.querySelector(".eyebrow").textContent.trim();
  const link = Object.assign(document.createElement("a"), {
    href,
    className: "btn btn-big btn-wide",
    textContent: `${page.querySelector("[data-group]")?.dataset.name}, ${day}`,
  });
  const item = document.createElement("li");
  item.append(link);
  list.querySelector("ul").append(item);
  list.hidden = false;
  document.querySelector("[data-kept-week]").hidden = true;
}
