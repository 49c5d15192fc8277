// One live picture: shows the SVG that the kernel drew, then puts each part that moved in the place of the old one.
// What arrives is parsed as an SVG document, never as a page, so nothing in it can run.

const HREF = "http://www.w3.org/1999/xlink";
const PAPER = new DOMParser().parseFromString(
  `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="${HREF}"/>`,
  "image/svg+xml",
).documentElement;
const PAUSE = 100; // ms between two readings of a caption under a picture that goes on moving
let views = 0;

// Setting what an element of an SVG document holds is as strict as parsing a document, and takes a third of the time.
function parse(text) {
  const root = PAPER.cloneNode();
  root.innerHTML = text; // throws a SyntaxError if it is not well formed
  return document.adoptNode(root);
}

// What `old` becomes: so much of its start, so much of its end, and what is new between.
function change(old, [start, end, middle]) {
  return old.slice(0, start) + middle + old.slice(old.length - end);
}

// Clips and hatches get ids of this view's own: a reference into another, hidden view of the picture would draw nothing.
function localize(root, parts, view) {
  for (const node of root.querySelectorAll("[id], [style], [clip-path], use")) {
    if (node.id && !(node.id in parts)) node.id += view;
    for (const name of ["style", "clip-path"]) {
      const value = node.getAttribute(name);
      if (value?.includes("url(#")) node.setAttribute(name, value.replace(/url\(#([^)]+)\)/g, `url(#$1${view})`));
    }
    if (node.localName === "use") node.setAttributeNS(HREF, "xlink:href", node.getAttributeNS(HREF, "href") + view);
  }
  return root;
}

function initialize({ model }) {
  model.on("msg:custom", (news) => {
    const now = model.get("now");
    if (news.now) {
      model.set("now", news.now);
    } else if (news.revision === now.revision + 1) {
      for (const [part, difference] of Object.entries(news.moved)) now.parts[part] = change(now.parts[part], difference);
      Object.assign(now.definitions, news.definitions);
      now.alt = change(now.alt, news.alt);
      now.revision = news.revision;
    } else if (news.revision > now.revision) {
      model.send({ holds: now.revision }); // something was missed: the kernel answers with the whole picture
    }
  });
  model.send({ holds: model.get("now").revision });
}

function render({ model, el }) {
  const view = `-v${(views += 1)}`;
  const badge = document.createElement("p");
  badge.className = "mixlab-picture-badge";
  badge.setAttribute("role", "status");
  const sheet = document.createElement("div");
  sheet.className = "mixlab-picture-sheet";
  el.classList.add("mixlab-picture");
  const caption = document.createElement("p");
  caption.className = "mixlab-picture-caption";
  caption.setAttribute("role", "note");
  caption.tabIndex = 0; // where the room is short it scrolls, by key too
  el.replaceChildren(badge, sheet, caption);
  let svg, defs, places, revision, writing;

  function words() {
    const { alt } = model.get("now");
    return model.get("stale") ? `${model.get("stale_words")}. ${alt}` : alt;
  }

  function write() {
    clearTimeout(writing);
    writing = undefined;
    if (caption.textContent !== words()) caption.textContent = words();
    caption.hidden = !model.get("caption");
  }

  function name() {
    svg.setAttribute("aria-label", words());
    write();
  }

  function add(definitions) {
    const text = Object.values(definitions).join("");
    if (text) defs.append(...localize(parse(text), {}, view).childNodes);
  }

  function drawAll() {
    const { size, body, definitions, parts } = model.get("now");
    svg = localize(parse(body.replace(/<g id="([^"]+)"\/>/g, (_, part) => parts[part])), parts, view);
    svg.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
    svg.setAttribute("role", "img");
    svg.style.maxHeight = model.get("max_height");
    places = new Map([...svg.querySelectorAll("g[id]")].map((node) => [node.id, node]));
    defs = document.createElementNS(svg.namespaceURI, "defs");
    add(definitions);
    svg.prepend(defs);
    name();
    sheet.replaceChildren(svg);
    revision = model.get("now").revision;
  }

  function move({ moved, definitions, revision: sent }) {
    if (sent !== revision + 1) return; // drawn already, or held back: `initialize` sees to it
    revision = sent;
    add(definitions);
    const { parts } = model.get("now");
    const fresh = localize(parse(Object.keys(moved).map((part) => parts[part]).join("")), parts, view);
    for (const node of [...fresh.children]) {
      places.get(node.id).replaceWith(node);
      places.set(node.id, node);
    }
    svg.setAttribute("aria-label", words());
    writing ??= setTimeout(write, PAUSE); // laying out words anew takes longer than a picture that moves has
  }

  function mark() {
    const stale = model.get("stale");
    el.classList.toggle("mixlab-stale", stale);
    badge.textContent = stale ? model.get("stale_words") : "";
    name();
  }

  drawAll();
  mark();
  model.on("msg:custom", move);
  model.on("change:now", drawAll);
  model.on("change:stale", mark);
}

export default { initialize, render };
