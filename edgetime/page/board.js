"use strict";
(() => {
  const root = document.documentElement;
  const chart = document.querySelector(".chart");
  const now = document.getElementById("now");
  const rows = [...document.querySelectorAll("tr[data-from-s]")];
  const pad = (n) => String(n).padStart(2, "0");

  // The largest type with which the whole board is on the screen; below 10 px it is scrolled.
  const fit = () => {
    let low = 10, high = 64;
    const fits = (px) => {
      root.style.fontSize = `${px}px`;
      return root.scrollHeight <= innerHeight && root.scrollWidth <= innerWidth;
    };
    while (high - low > 0.5) {
      const middle = (low + high) / 2;
      if (fits(middle)) low = middle; else high = middle;
    }
    root.style.fontSize = `${low}px`;
  };

  // Where the shift is by the clock of this screen, on the day of the board only.
  const mark = () => {
    const t = new Date();
    const { day, start, scale, left, until } = chart.dataset;
    const today = `${t.getFullYear()}-${pad(t.getMonth() + 1)}-${pad(t.getDate())}`;
    let s = 3600 * t.getHours() + 60 * t.getMinutes() + t.getSeconds() - start;
    // A shift over midnight: the small hours belong to the day before.
    if (s < 0 && +start + +until > 86400) s += 86400;
    const on = s >= 0 && s <= until && (!day || day === today || +start + s >= 86400);
    now.setAttribute("display", on ? "inline" : "none");
    if (on) now.setAttribute("transform", `translate(${+left + s * scale} 0)`);
    for (const row of rows) {
      const { fromS, toS } = row.dataset;
      row.classList.toggle("now", on && fromS <= s && s < +toS);
    }
  };

  addEventListener("resize", fit);
  addEventListener("beforeprint", () => { root.style.fontSize = ""; });
  addEventListener("afterprint", fit);
  fit();
  mark();
  setInterval(mark, 10000);
  root.dataset.ready = "yes";
})();
