"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const plan = document.querySelector(".plan svg");
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];
  const id = (name) => document.getElementById(name);
  const svg = (name, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };

  const unit = plan.viewBox.baseVal.width / 1000;
  let rows = [], edges = {};

  // Times ---------------------------------------------------------------------------------
  const pad = (n) => String(n).padStart(2, "0");
  // To the nearest second, as every table has it.
  const clock = (s) => `${Math.floor(Math.round(s) / 60)}:${pad(Math.round(s) % 60)}`;
  const start = data.start && new Date(data.start[0]);
  const waited = (s) => data.stops.reduce((sum, stop) => sum + (stop.at <= s ? stop.seconds : 0), 0);
  const wall = (s) => {
    if (!start) return "";
    const at = new Date(start.getTime() + 1000 * (s + waited(s)) + 500);
    const midnight = (date) => new Date(date).setHours(0, 0, 0, 0);
    const days = Math.round((midnight(at) - midnight(start)) / 864e5);
    return `${pad(at.getHours())}:${pad(at.getMinutes())}:${pad(at.getSeconds())}${days ? ` +${days}` : ""}`;
  };

  // Edges and rows light each other up ------------------------------------------------------
  const key = (e) => `${e.dataset.part}/${e.dataset.contour}/${e.dataset.edge}`;
  const paths = new Map(all("path[data-edge]", plan).map((p) => [key(p), p]));
  const edgeRows = new Map(all("tr[data-edge]").map((r) => [key(r), r]));
  const told = id("edge");
  let lit = [];
  const byRow = (row) => {
    if (row.dataset.edge) return [paths.get(key(row))];
    const { part, profile, tool } = row.dataset;
    if (part) return all("path[data-edge]", plan).filter((p) => p.dataset.part === part);
    if (profile) return all("g.edges", plan).filter((g) => g.dataset.profile === profile)
      .flatMap((g) => all("path", g));
    return tool ? all("g.tool", plan).filter((g) => g.dataset.tool === tool).flatMap((g) => all("path", g)) : [];
  };
  const light = (elements) => {
    for (const e of lit) e.classList.remove("lit");
    lit = elements.filter(Boolean);
    for (const e of lit) e.classList.add("lit");
  };
  const tell = (k) => {
    const path = paths.get(k);
    if (!path) return;
    const times = (edges[k] || []).map(([v, s]) => `${data.tools[v - 1].name} ${clock(s)}`);
    const title = path.querySelector("title").textContent;
    told.textContent = title + (times.length ? `. Time (min:s): ${times.join(", ")}` : "");
  };
  // One listener for all edges. The mark of a finding may lie on an edge: what is below it counts.
  // The gaps of a dashed line are no part of it for a browser, so a little beside is looked at too.
  const near = [0, 3, -3, 5, -5].flatMap((d) => (d ? [[d, 0], [0, d]] : [[0, 0]]));
  const edgeAt = (e) => {
    for (const [dx, dy] of near) {
      const found = document.elementsFromPoint(e.clientX + dx, e.clientY + dy).find((one) => one.matches("path[data-edge]"));
      if (found) return found;
    }
    return null;
  };
  let pointed = null;
  plan.addEventListener("pointermove", (e) => {
    const path = edgeAt(e);
    if (path === pointed) return;
    pointed = path;
    if (path) { light([path, edgeRows.get(key(path))]); tell(key(path)); }
  });
  plan.addEventListener("click", (e) => {
    const path = edgeAt(e);
    if (!path) return;
    const row = edgeRows.get(key(path));
    light([path, row]); tell(key(path));
    if (row) row.scrollIntoView({ block: "nearest" });
  });
  const rowsOf = (row) => all("tr[tabindex]", row.parentElement);
  for (const body of all("tbody")) {
    const first = body.querySelector("tr[tabindex]");
    if (first) first.tabIndex = 0;
  }
  for (const row of all("tbody tr[tabindex]")) {
    // A table has one stop of the Tab key: thousands of edges would be thousands of them.
    row.addEventListener("keydown", (e) => {
      const step = { ArrowDown: 1, ArrowUp: -1, Home: -Infinity, End: Infinity }[e.key];
      if (step === undefined) return;
      const list = rowsOf(row);
      const to = list[Math.min(Math.max(list.indexOf(row) + step, 0), list.length - 1)];
      row.tabIndex = -1; to.tabIndex = 0; to.focus();
      e.preventDefault();
    });
    const show = () => { light([row, ...byRow(row)]); if (row.dataset.edge) tell(key(row)); };
    row.addEventListener("pointerenter", show);
    row.addEventListener("focus", show);
    row.addEventListener("click", show);
  }

  // What is shown ---------------------------------------------------------------------------
  for (const box of all("input[data-show]")) {
    const set = () => {
      for (const g of all(`g.${box.dataset.show}`, plan)) g.classList.toggle("off", !box.checked);
    };
    box.addEventListener("change", set);
    set();
  }
  const toolBoxes = all("input[data-visit]");
  const strokes = { 0: ["#888888", "1 2.5"], 1: ["#888888", "1 2.5"], 2: ["#444444", "3 2"], 3: ["#444444", ""] };
  const drawTool = (v) => {
    const group = svg("g", { class: "tool", "data-visit": v + 1, "data-tool": data.tools[v].name, fill: "none" });
    const parts = ["", "", "", ""];
    let open = -1;
    for (let i = 1; i < frames; i++) {
      if (visits[i] !== v || (place[0][i] === place[0][i - 1] && place[1][i] === place[1][i - 1])) { open = -1; continue; }
      const kind = kinds[i];
      if (open !== kind) parts[kind] += `M${place[0][i - 1]} ${-place[1][i - 1]}`;
      parts[kind] += `L${place[0][i]} ${-place[1][i]}`;
      open = kind;
    }
    parts.forEach((d, kind) => {
      if (!d) return;
      const [stroke, dash] = strokes[kind];
      group.append(svg("path", { d, stroke, class: ["rapid", "plunge", "lead", "cut"][kind], "stroke-width": 0.7 * unit,
        "stroke-dasharray": dash.split(" ").map((n) => n * unit).join(" ") }));
    });
    return group;
  };
  const drawStarts = (v) => {
    const group = svg("g", { class: "starts", "data-visit": v + 1 });
    const spots = new Map();
    rows.filter((row) => row[1] === v + 1 && row.length > 4).forEach((row, k) => {
      const spot = `${row[4]} ${row[5]}`;
      spots.set(spot, [...(spots.get(spot) || []), k + 1]);
    });
    const r = 6 * unit;
    for (const [spot, numbers] of spots) {
      const [x, y] = spot.split(" ").map(Number);
      const said = numbers.length > 1 ? `${numbers[0]}-${numbers[numbers.length - 1]}` : `${numbers[0]}`;
      const wide = r * Math.max(1, 0.62 * said.length);
      const text = svg("text", { x, y: -y + 0.5 * r, "font-size": 9 * unit, "text-anchor": "middle", fill: "#ffffff" });
      text.textContent = said;
      group.append(svg("rect", { x: x - wide, y: -y - r, width: 2 * wide, height: 2 * r, rx: r, fill: "#1a1a1a" }), text);
    }
    return group;
  };
  const setTool = (box) => {
    const v = Number(box.dataset.visit) - 1;
    for (const g of all(`g[data-visit="${v + 1}"]`, plan)) g.remove();
    if (box.checked) {
      plan.insertBefore(drawTool(v), plan.querySelector("g.edges"));
      plan.insertBefore(drawStarts(v), plan.querySelector("g.findings") || plan.querySelector("g.legend"));
    }
  };
  for (const box of toolBoxes) box.addEventListener("change", () => setTool(box));
  for (const [name, on] of [["all-tools", true], ["no-tools", false]]) {
    id(name).addEventListener("click", () => {
      for (const box of toolBoxes) { box.checked = on; setTool(box); }
    });
  }

  // Replay ----------------------------------------------------------------------------------
  const slider = id("moment"), play = id("play"), speed = id("speed"), now = id("now");
  const marker = svg("g", { class: "marker", visibility: "hidden" });
  const wheel = svg("circle", { r: 1, fill: "#D55E00", "fill-opacity": 0.35, stroke: "#D55E00" });
  const dot = svg("circle", { r: 1, fill: "#D55E00" });
  marker.append(wheel, dot);
  // A layer of its own: the plan is not painted anew for every step of the tool.
  const over = svg("svg", { viewBox: plan.getAttribute("viewBox"), class: "over", "aria-hidden": "true" });
  over.append(marker);
  plan.parentElement.append(over);  // over the paper, so that both scroll together
  dot.setAttribute("r", 3 * unit);
  wheel.setAttribute("stroke-width", unit);
  let time, place, kinds, visits, frames = 0, moment = 0, running = false, last = 0, seen = -1;

  const inflate = async (text) => {
    const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  };
  const unpack = async () => {
    ({ rows, edges } = JSON.parse(new TextDecoder().decode(await inflate(data.more))));
    const raw = await inflate(data.track);
    frames = raw.length / 24;
    const columns = [];
    for (let c = 0; c < 6; c++) {
      const column = new Float64Array(frames);
      const base = c * 4 * frames;
      let sum = 0;
      for (let i = 0; i < frames; i++) {
        sum += raw[base + i] | (raw[base + frames + i] << 8) | (raw[base + 2 * frames + i] << 16)
          | (raw[base + 3 * frames + i] << 24);
        column[i] = sum;
      }
      columns.push(column);
    }
    time = columns[0].map((t) => t / 1000);
    place = [1, 2, 3].map((c) => columns[c].map((v) => v / 10));
    kinds = columns[4];
    visits = columns[5];
  };
  const after = (list, value, get) => {
    let low = 0, high = list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (get(list[middle]) <= value) low = middle + 1; else high = middle;
    }
    return low;
  };
  const where = (s) => {
    const i = Math.min(Math.max(after(time, s, (t) => t), 1), frames - 1);
    const span = time[i] - time[i - 1];
    const share = span > 0 ? Math.min(Math.max((s - time[i - 1]) / span, 0), 1) : 1;
    const at = place.map((p) => p[i - 1] + share * (p[i] - p[i - 1]));
    return { x: at[0], y: at[1], z: at[2], moving: at.some((_, c) => place[c][i] !== place[c][i - 1]),
      kind: kinds[i], visit: visits[i] };
  };
  const doing = ["rapid", "plunge", "lead", "cut"];
  const show = (s, announce) => {
    moment = Math.min(Math.max(s, 0), data.total);
    const at = where(moment);
    const k = after(rows, moment, (row) => row[0]) - 1;
    const row = rows[Math.max(k, 0)];
    const tool = data.tools[row[1] - 1];
    marker.setAttribute("visibility", "visible");
    marker.setAttribute("transform", `translate(${at.x} ${-at.y})`);
    wheel.setAttribute("r", tool.diameter / 2);
    wheel.setAttribute("fill-opacity", at.z < 0 ? 0.45 : 0.1);
    const what = row[2] === "change" ? "tool change" : row[2] === "return" ? "back to the rack"
      : `${row[3]}, ${at.moving ? doing[at.kind] : "standing"}`;
    const next = rows[k + 1];
    const coming = !next ? "end of the program" : next[2] === "pass" ? next[3]
      : next[2] === "change" ? `change to ${data.tools[next[1] - 1].name}` : "back to the rack";
    const stop = data.stops.find((one) => Math.abs(one.at - moment) < 1.5);
    const text = `${clock(moment)} of ${clock(data.total)}${start ? ` (${wall(moment)})` : ""}: `
      + `${tool.name}, ${what}. Next: ${coming}.`
      + (stop ? ` Attended stop: ${stop.reason}, ${clock(stop.seconds)} min.` : "");
    if (text !== now.textContent) now.textContent = text;
    if (slider.value !== String(moment)) slider.value = moment;
    if (row[1] !== seen || announce) {
      seen = row[1];
      slider.setAttribute("aria-valuetext", text);
    }
  };
  const tick = (stamp) => {
    if (!running) return;
    const gone = last ? (stamp - last) / 1000 : 0;
    last = stamp;
    show(moment + gone * Number(speed.value));
    if (moment >= data.total) stop();
    else requestAnimationFrame(tick);
  };
  const stop = () => { running = false; play.textContent = "Play"; play.setAttribute("aria-pressed", "false"); };
  play.addEventListener("click", () => {
    if (running) { stop(); return; }
    if (moment >= data.total) show(0);
    running = true; last = 0;
    play.textContent = "Pause"; play.setAttribute("aria-pressed", "true");
    requestAnimationFrame(tick);
  });
  slider.addEventListener("input", () => show(Number(slider.value), true));
  for (const bar of all(".timeline .bar")) {
    bar.addEventListener("click", () => show(Number(bar.dataset.startS), true));
  }
  for (const button of all("[data-seek-s]")) {
    button.addEventListener("click", () => show(Number(button.dataset.seekS), true));
  }
  for (const row of all("tr[data-start-s]")) {
    row.addEventListener("dblclick", () => show(Number(row.dataset.startS), true));
    row.addEventListener("keydown", (e) => { if (e.key === "Enter") show(Number(row.dataset.startS), true); });
  }
  unpack().then(() => {
    for (const box of toolBoxes) if (box.checked) setTool(box);
    slider.disabled = play.disabled = false;
    show(0);
    marker.setAttribute("visibility", "hidden");
    document.documentElement.dataset.ready = "yes";
    window.edgetimePlace = where;
  });
})();
