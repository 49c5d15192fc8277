// The frame of one panel: names its controls, keeps its keys from the notebook, hands news to its pictures, and speaks
// politely. It draws nothing.

const VALUES = ["aria-valuenow", "aria-valuetext"]; // what a slider that moves says of itself
const FIELDS = "[role=slider], [contenteditable], input, select, textarea, button"; // all that bears a name
const QUIET = 700; // ms without a change before the latest text is spoken, so that dragging does not flood the listener

function set(node, name, value) {
  if (node.getAttribute(name) !== value) node.setAttribute(name, value);
}

function nameControl(node, label, parts) {
  const handles = [...node.querySelectorAll("[role=slider]")];
  const choices = node.querySelectorAll("input[type=radio], input[type=checkbox], button");
  const fields = node.matches("input, select, textarea, button")
    ? [node]
    : [...node.querySelectorAll("input, select, textarea, button")];
  if (handles.length) {
    const ends = handles.length > 1 ? [parts.from, parts.to] : [];
    handles.forEach((handle, at) => set(handle, "aria-label", fill(ends[at] ?? "{}", label)));
    for (const readout of node.querySelectorAll("[contenteditable]")) {
      set(readout, "role", "textbox");
      set(readout, "aria-label", fill(parts.typed, label));
    }
  } else if (choices.length > 1) {
    set(node, "role", node.querySelector("input[type=radio]") ? "radiogroup" : "group");
    set(node, "aria-label", label);
  } else {
    fields.forEach((field) => set(field, "aria-label", label));
  }
}

function fill(words, text) {
  return words.replaceAll("{}", () => text);
}

function sayReading(node, reading) {
  for (const handle of node.querySelectorAll("[role=slider]")) {
    const value = Number(handle.getAttribute("aria-valuenow"));
    set(handle, "aria-valuetext", Array.isArray(reading) ? (reading[value] ?? String(value)) : fill(reading, String(value)));
  }
}

// Whether a change may bring something to name: not the value of a slider, nor words put in the place of others.
function isNews({ attributeName, addedNodes }) {
  if (attributeName) return !VALUES.includes(attributeName);
  return [...addedNodes].some((node) => node.matches?.(FIELDS) || node.querySelector?.(FIELDS));
}

// Plain keys belong to the control in focus. The notebook would take arrows for itself, and two d's for "delete the cell".
function keepKey(event) {
  const meantForTheLab = event.ctrlKey || event.metaKey || event.altKey || (event.shiftKey && event.key === "Enter");
  if (!meantForTheLab && event.key !== "Tab" && event.key !== "Escape") event.stopPropagation();
}

function place(el) {
  let outermost = el.parentElement;
  for (let node = outermost; node; node = node.parentElement) {
    if (node.matches(".jp-OutputArea-output")) return node;
    if (node.matches(".jupyter-widgets")) outermost = node;
  }
  return outermost;
}

function initialize({ model }) {
  const find = (id) => model.widget_manager.get_model(id).catch(() => null); // it may have been closed
  model.on("msg:custom", async ({ news = {}, controls = {} }) => {
    for (const [picture, one] of Object.entries(news)) (await find(picture))?.trigger("msg:custom", one);
    for (const [control, state] of Object.entries(controls)) {
      const one = await find(control);
      // One after the other: a slider that gets a new end and a new place at once sends the place back to the kernel.
      for (const [name, value] of Object.entries(state)) one?.set_state({ [name]: value });
    }
  });
  model.send({}); // what came before this page listened is lost: the kernel sends the pictures whole
}

async function render({ model, el, signal }) {
  const voice = document.createElement("div");
  voice.setAttribute("role", "status");
  voice.setAttribute("aria-live", "polite");
  el.classList.add("mixlab-frame");
  el.replaceChildren(voice);

  let timer;
  model.on("msg:custom", ({ aloud }) => {
    if (aloud === undefined) return;
    clearTimeout(timer);
    timer = setTimeout(() => (voice.textContent = aloud), QUIET);
  });

  while (!el.isConnected) {
    await new Promise((resolve) => setTimeout(resolve, 30));
    if (signal?.aborted) return undefined;
  }
  const root = place(el);

  function apply(words, say) {
    for (const [control, text] of Object.entries(model.get(words))) {
      root.querySelectorAll(`.${CSS.escape(control)}`).forEach((node) => say(node, text, model.get("parts")));
    }
  }
  function nameAll() {
    apply("names", nameControl);
    apply("readings", sayReading);
  }
  function readOne(handle) {
    for (const [control, reading] of Object.entries(model.get("readings"))) {
      const node = handle.closest(`.${CSS.escape(control)}`);
      if (node) sayReading(node, reading);
    }
  }

  const observer = new MutationObserver((changes) => {
    const near = changes.filter(({ target }) => !target.closest(".mixlab-picture")); // no controls in pictures
    if (near.some(isNews)) nameAll();
    else near.filter(({ attributeName }) => attributeName).forEach(({ target }) => readOne(target)); // a slider only moved
  });
  root.classList.add("mixlab-framed");
  root.addEventListener("keydown", keepKey);
  observer.observe(root, {
    subtree: true,
    childList: true,
    attributeFilter: ["aria-label", "class", "role", ...VALUES],
  });
  model.on("change:readings", nameAll);
  nameAll();

  return () => {
    clearTimeout(timer);
    observer.disconnect();
    root.removeEventListener("keydown", keepKey);
    root.classList.remove("mixlab-framed");
  };
}

export default { initialize, render };
