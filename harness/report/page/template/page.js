"use strict";
// Draws the strips and reads values off them. Texts are set as text only, never as mark-up.
(async () => {
  const root = document.documentElement;
  const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1e3, 2e3, 5e3, 10e3, 15e3, 30e3, 60e3, 120e3, 300e3, 600e3,
    900e3, 1800e3, 3600e3, 7200e3, 14400e3, 43200e3, 86400e3];
  const TYPES = { i4: Int32Array, f4: Float32Array, f8: Float64Array };
  const SHORTEST_MS = 50;
  const CONFIG = { displayModeBar: false, doubleClick: false, scrollZoom: false, responsive: false };

  const bytesOf = (text) => {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let at = 0; at < raw.length; at++) bytes[at] = raw.charCodeAt(at);
    return bytes;
  };
  const unpacked = (id) => {
    const packed = new Blob([bytesOf(document.getElementById(id).textContent.trim())]);
    return new Response(packed.stream().pipeThrough(new DecompressionStream("gzip"))).text();
  };
  // Arrays in place of their bytes.
  const revived = (key, value) => value !== null && typeof value === "object" && "bdata" in value
    ? new TYPES[value.dtype](bytesOf(value.bdata).buffer) : value;

  const clock = (ms, step) => {
    const places = step >= 1000 ? 0 : step >= 100 ? 1 : step >= 10 ? 2 : 3;
    const unit = 10 ** (3 - places);
    const whole = Math.round(ms / unit);
    const perMinute = 60 * 10 ** places;
    const minutes = Math.floor(whole / perMinute);
    const seconds = ((whole % perMinute) / 10 ** places).toFixed(places);
    return `${String(minutes).padStart(2, "0")}:${seconds.padStart(places ? places + 3 : 2, "0")}`;
  };
  const number = (value) => {
    const size = Math.abs(value);
    if (size && (size < 1e-3 || size >= 1e9)) return value.toExponential(3);
    const text = value.toFixed(Math.max(0, size ? 3 - Math.floor(Math.log10(size)) : 0));
    return (text.includes(".") ? text.replace(/\.?0+$/, "") : text).replace("-", "\u2212");
  };
  const upTo = (times, t) => {
    let low = 0, high = times.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (times[middle] <= t) low = middle + 1; else high = middle;
    }
    return low - 1;
  };
  const valueAt = (read, t) => {
    const at = upTo(read.x, t);
    // Before the first row and after the end of the run there is no value.
    if (at < 0 || t > read.x.at(-1)) return NaN;
    if (read.held || at === read.x.length - 1 || read.x[at] === t) return read.y[at];
    return read.y[at] + (read.y[at + 1] - read.y[at]) * (t - read.x[at]) / (read.x[at + 1] - read.x[at]);
  };
  const said = (read, t) => {
    if (read.texts) return read.texts[upTo(read.x, t)] ?? "\u2013";
    const value = valueAt(read, t);
    if (Number.isNaN(value)) return "\u2013";
    return read.unit === "bool" ? (value ? "on" : "off") : number(value);
  };

  let look;
  const painted = (part) => {
    if (typeof part === "string" && part[0] === "@") return look.getPropertyValue("--" + part.slice(1)).trim();
    if (Array.isArray(part)) return part.map(painted);
    if (part === null || typeof part !== "object" || ArrayBuffer.isView(part)) return part;
    return Object.fromEntries(Object.entries(part).map(([name, value]) => [name, painted(value)]));
  };

  class Strip {
    constructor(group, spec, element) {
      this.group = group;
      this.spec = spec;
      this.plot = element.querySelector(".plot");
      this.outputs = [...element.querySelectorAll("output")];
      this.names = [...element.querySelectorAll(".name")].map((name) => name.textContent);
      this.toggles = [...element.querySelectorAll("button[aria-pressed]")];
      this.cursor = this.plot.appendChild(document.createElement("i"));
      this.cursor.className = "cursor";
      this.labels = spec.labels.map((label) => {
        const made = this.plot.appendChild(document.createElement("span"));
        made.className = "label " + label.tone;
        made.textContent = label.text;
        return made;
      });
      this.reads = spec.read.map((read, at) => ({ x: spec.data[at].x, y: spec.data[at].y, ...read }));
      this.drawn = false;
      this.toggles.forEach((toggle, at) => toggle.addEventListener("click", () => this.toggle(at)));
      this.plot.addEventListener("pointermove", (event) => this.point(event));
      this.plot.addEventListener("pointerdown", (event) => this.point(event));
    }
    get edges() {
      const narrow = window.innerWidth < 720 && !root.dataset.print;
      return { ...this.spec.layout.margin, l: narrow ? 40 : 56 };
    }
    get inside() { return this.plot.clientWidth - this.edges.l - this.edges.r; }
    place(t) {
      const [low, high] = this.group.range;
      return this.edges.l + (t - low) / (high - low) * this.inside;
    }
    point(event) {
      const share = (event.clientX - this.plot.getBoundingClientRect().left - this.edges.l) / this.inside;
      if (share < 0 || share > 1) return;
      const [low, high] = this.group.range;
      this.group.read(low + share * (high - low));
    }
    toggle(at) {
      const shown = this.toggles[at].getAttribute("aria-pressed") !== "true";
      this.toggles[at].setAttribute("aria-pressed", String(shown));
      this.spec.data[at].visible = shown;
      this.draw();
    }
    axes() {
      const [low, high] = this.group.range;
      const step = STEPS.find((each) => (high - low) / each <= this.inside / 72) ?? STEPS.at(-1);
      const ticks = [];
      for (let t = Math.ceil(low / step) * step; t <= high; t += step) ticks.push(t);
      const found = { "xaxis.range": [low, high], "xaxis.tickvals": ticks };
      found["xaxis.ticktext"] = ticks.map((t) => clock(t, step));
      if (this.spec.fits) found["yaxis.range"] = this.fitting(low, high);
      return found;
    }
    // The axis that holds what is visible between two times.
    fitting(low, high) {
      let least = Infinity, most = -Infinity;
      this.reads.forEach((read, at) => {
        if (this.spec.data[at].visible === false) return;
        const take = (value) => { if (value < least) least = value; if (value > most) most = value; };
        for (let row = Math.max(upTo(read.x, low), 0); row < read.x.length && read.x[row] <= high; row++) {
          if (read.x[row] >= low || read.held) take(read.y[row]);
        }
        if (!read.held) { take(valueAt(read, low)); take(valueAt(read, high)); }
      });
      if (!(most >= least)) return this.spec.layout.yaxis.range;
      const pad = 0.08 * (most - least) || Math.max(0.02 * Math.abs(most), 1);
      return [least - pad, most + pad];
    }
    draw() {
      const layout = painted(this.spec.layout);
      const axes = this.axes();
      layout.margin = this.edges;
      layout.width = this.plot.clientWidth;
      layout.dragmode = this.group.drag;
      layout.font = { family: look.getPropertyValue("--face"), size: 11 };
      for (const [path, value] of Object.entries(axes)) {
        const [axis, key] = path.split(".");
        layout[axis][key] = value;
      }
      this.y = layout.yaxis.range;
      Plotly.react(this.plot, painted(this.spec.data), layout, CONFIG);
      if (!this.drawn) {
        this.plot.on("plotly_relayout", (change) => this.zoomed(change));
        this.plot.on("plotly_doubleclick", () => this.group.show(...this.group.whole));
      }
      this.drawn = true;
      this.stale = false;
      this.mark();
    }
    zoomed(change) {
      const low = change["xaxis.range[0]"], high = change["xaxis.range[1]"];
      if (low !== undefined) this.group.show(low, high);
    }
    follow() {
      if (!this.drawn) return;
      const axes = this.axes();
      this.y = axes["yaxis.range"] ?? this.y;
      Plotly.relayout(this.plot, axes);
      this.stale = false;
      this.mark();
    }
    // Labels and cursor, over the figure.
    mark() {
      const { t, b } = this.edges;
      const height = this.spec.layout.height - t - b;
      const [low, high] = this.y;
      this.spec.labels.forEach((label, at) => {
        const span = this.labels[at];
        const y = t + (1 - (label.y - low) / (high - low)) * height;
        const x = label.t_ms === null ? null : this.place(label.t_ms);
        span.classList.toggle("left", label.side === "left");
        span.classList.toggle("edge", x === null);
        span.style.top = `${y}px`;
        span.style.left = x === null ? "" : `${x}px`;
        if (x === null) return;
        // Turned to the other side where it would leave the figure.
        span.style.visibility = x < this.edges.l - 1 || x > this.edges.l + this.inside + 1 ? "hidden" : "";
        const room = label.side === "left" ? x - this.edges.l : this.edges.l + this.inside - x;
        if (span.offsetWidth + 8 > room) span.classList.toggle("left");
      });
      this.spread();
      this.read(this.group.cursor);
    }
    // Labels at the edge that would lie on each other stand beside each other.
    spread() {
      const edge = this.labels.filter((span) => span.classList.contains("edge"));
      edge.sort((a, b) => parseFloat(a.style.top) - parseFloat(b.style.top));
      let before = null;
      for (const span of edge) {
        const near = before !== null && parseFloat(span.style.top) - parseFloat(before.style.top) < 13;
        span.style.right = near ? `${parseFloat(before.style.right) + before.offsetWidth + 4}px` : "14px";
        before = span;
      }
    }
    read(t) {
      const [low, high] = this.group.range;
      this.cursor.hidden = t === null || t < low || t > high;
      if (!this.cursor.hidden) this.cursor.style.transform = `translateX(${this.place(t)}px)`;
      this.outputs.forEach((output, at) => {
        output.textContent = t === null || !this.reads[at].x.length ? "" : said(this.reads[at], t);
      });
    }
  }

  class Group {
    constructor(spec, element) {
      this.element = element;
      this.whole = spec.range;
      this.range = spec.range;
      this.cursor = spec.cursor;
      this.drag = matchMedia("(pointer: coarse)").matches ? false : "zoom";
      this.now = element.querySelector(".now");
      const strips = element.querySelectorAll(".strip");
      this.strips = spec.strips.map((strip, at) => new Strip(this, strip, strips[at]));
      this.last = element.querySelector(".last");
      this.marks = [...new Set(spec.strips.filter((strip) => strip.kind === "marks")
        .flatMap((strip) => strip.data.flatMap((trace) => [...trace.x])))].sort((a, b) => a - b);
      element.addEventListener("keydown", (event) => this.key(event));
      element.querySelectorAll("[data-do]").forEach((button) =>
        button.addEventListener("click", () => this.act(button.dataset.do)));
      element.querySelectorAll("[name$=drag]").forEach((choice) => {
        choice.checked = choice.value === (this.drag || "read");
        choice.addEventListener("change", () => {
          this.drag = choice.value === "read" ? false : choice.value;
          this.strips.filter((strip) => strip.drawn).forEach((strip) => strip.draw());
        });
      });
      this.tell();
    }
    show(low, high) {
      const [first, last] = this.whole;
      const span = Math.min(Math.max(high - low, SHORTEST_MS), last - first);
      const begin = Math.min(Math.max((low + high - span) / 2, first), last - span);
      this.range = [begin, begin + span];
      this.strips.forEach((strip) => { strip.stale = true; });
      this.strips.filter((strip) => strip.visible !== false).forEach((strip) => strip.follow());
      this.tell();
    }
    read(t) {
      this.cursor = t;
      this.strips.forEach((strip) => strip.drawn && strip.read(t));
      this.tell();
    }
    // Of all lanes of marks what was said last up to a time.
    lastMark(t) {
      let newest = null;
      for (const strip of this.strips.filter((each) => each.spec.kind === "marks")) {
        strip.reads.forEach((read, at) => {
          const row = upTo(read.x, t);
          if (row >= 0 && (newest === null || read.x[row] >= newest.t)) {
            newest = { t: read.x[row], text: `${read.texts[row]} (${strip.names[at]})` };
          }
        });
      }
      return newest === null ? "" : newest.text;
    }
    tell() {
      if (this.last) this.last.textContent = this.cursor === null ? "" : this.lastMark(this.cursor);
      const span = this.range[1] - this.range[0];
      this.now.textContent = this.cursor === null ? "" : clock(this.cursor, span > 600e3 ? 100 : span > 10e3 ? 10 : 1);
    }
    act(what) {
      const [low, high] = this.range;
      const span = high - low;
      const middle = this.cursor !== null && this.cursor > low && this.cursor < high ? this.cursor : (low + high) / 2;
      const around = (factor) => this.show(middle - (middle - low) * factor, middle + (high - middle) * factor);
      if (what === "whole") this.show(...this.whole);
      if (what === "in") around(0.5);
      if (what === "out") around(2);
      if (what === "left") this.show(low - span / 4, high - span / 4);
      if (what === "right") this.show(low + span / 4, high + span / 4);
      if (what === "before") this.jump(this.marks.findLast((t) => t < (this.cursor ?? 0)));
      if (what === "after") this.jump(this.marks.find((t) => t > (this.cursor ?? -1)));
    }
    jump(t) {
      if (t === undefined) return;
      const [low, high] = this.range;
      if (t < low || t > high) this.show(t - (high - low) / 2, t + (high - low) / 2);
      this.read(t);
    }
    key(event) {
      if (event.target !== this.element || event.ctrlKey || event.altKey || event.metaKey) return;
      const span = this.range[1] - this.range[0];
      const step = (share) => this.jump(Math.min(Math.max((this.cursor ?? this.range[0]) + share * span,
        this.whole[0]), this.whole[1]));
      const keys = {
        ArrowLeft: () => event.shiftKey ? this.act("left") : step(-0.005),
        ArrowRight: () => event.shiftKey ? this.act("right") : step(0.005),
        "+": () => this.act("in"), "-": () => this.act("out"), 0: () => this.act("whole"),
        ",": () => this.act("before"), ".": () => this.act("after"),
      };
      if (!(event.key in keys)) return;
      event.preventDefault();
      keys[event.key]();
    }
  }

  // Whatever goes wrong before all is drawn: the page says so instead of showing empty strips.
  const undrawn = () => { if (root.dataset.drawn !== "yes") root.dataset.drawn = "no"; };
  if (!("DecompressionStream" in window)) return undrawn();
  window.addEventListener("error", undrawn);
  window.addEventListener("unhandledrejection", undrawn);
  const script = document.createElement("script");
  const [library, figures] = await Promise.all([unpacked("library"), unpacked("figures")]);
  script.textContent = library;
  document.head.append(script);

  look = getComputedStyle(root);
  const elements = document.querySelectorAll(".group");
  const groups = JSON.parse(figures, revived).map((spec, at) => new Group(spec, elements[at]));
  const strips = groups.flatMap((group) => group.strips);
  const fresh = (strip) => {
    if (!strip.drawn) strip.draw(); else if (strip.stale) strip.follow();
  };
  const redraw = () => {
    look = getComputedStyle(root);
    strips.forEach((strip) => strip.draw());
  };

  const watch = new IntersectionObserver((entries) => entries.forEach((entry) => {
    const strip = strips.find((each) => each.plot === entry.target);
    strip.visible = entry.isIntersecting;
    if (strip.visible) fresh(strip);
  }), { rootMargin: "400px" });
  strips.forEach((strip) => watch.observe(strip.plot));

  const whole = groups.at(-1);
  document.querySelectorAll("[data-goto]").forEach((button) => button.addEventListener("click", () => {
    const [low, high, t] = button.dataset.goto.split(" ").map(Number);
    whole.show(low - (high - low), high + (high - low));
    whole.read(t);
    whole.element.scrollIntoView();
    whole.element.focus({ preventScroll: true });
  }));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
  let width = window.innerWidth;
  window.addEventListener("resize", () => {
    if (window.innerWidth === width) return;
    width = window.innerWidth;
    requestAnimationFrame(redraw);
  });
  window.addEventListener("beforeprint", () => { root.dataset.print = "yes"; redraw(); });
  window.addEventListener("afterprint", () => { delete root.dataset.print; redraw(); });

  // What is not in sight yet is drawn when nothing else is to do.
  const later = window.requestIdleCallback ?? ((call) => setTimeout(() => call({ timeRemaining: () => 10 }), 30));
  const rest = (idle) => {
    do {
      const next = strips.find((strip) => !strip.drawn);
      if (!next) { root.dataset.drawn = "yes"; return; }
      next.draw();
    } while (idle.timeRemaining() > 5);
    later(rest);
  };
  later(rest);
})();
