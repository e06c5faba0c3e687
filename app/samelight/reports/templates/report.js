"use strict";
(() => {
  const all = (what, where = document) => Array.from(where.querySelectorAll(what));
  document.documentElement.classList.add("scripted");

  const valueOf = (row, column) => {
    const cell = row.cells[column];
    const given = cell.dataset.v;
    if (given !== undefined && given !== "") return Number(given);
    const text = cell.textContent.trim();
    return text === "" ? -Infinity : text;
  };
  const compared = (a, b) =>
    typeof a === "number" && typeof b === "number" ? a - b
      : typeof a === "number" ? -1
        : typeof b === "number" ? 1
          : a.localeCompare(b, undefined, { numeric: true });

  for (const table of all("table.sortable")) {
    all("thead th", table).forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const falling = head.getAttribute("aria-sort") === "ascending";
        all("thead th", table).forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", falling ? "descending" : "ascending");
        const body = table.tBodies[0];
        const keyed = Array.from(body.rows, (row) => [valueOf(row, column), row]);
        keyed.sort((a, b) => (falling ? compared(b[0], a[0]) : compared(a[0], b[0])));
        body.append(...keyed.map((pair) => pair[1]));
      });
    });
  }

  const words = document.getElementById("words");
  const level = document.getElementById("level");
  const state = document.getElementById("state");
  const said = document.getElementById("found");
  let rows = null;
  const narrow = () => {
    rows = rows || all("details.shot").map((shot) => ({
      shot,
      name: shot.dataset.name.toLowerCase(),
      wasOpen: shot.open,
      lines: all("tbody tr", shot).map((line) => ({ line, text: line.textContent.toLowerCase() })),
    }));
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    const narrowed = wanted.length > 0 || level.value !== "" || state.value !== "";
    let cells = 0;
    let shots = 0;
    for (const part of rows) {
      let here = 0;
      for (const { line, text } of part.lines) {
        const shows = (level.value === "" || line.classList.contains(level.value))
          && (state.value === "" || line.classList.contains(state.value))
          && wanted.every((word) => part.name.includes(word) || text.includes(word));
        line.classList.toggle("gone", !shows);
        here += shows;
      }
      part.shot.classList.toggle("gone", narrowed && here === 0);
      part.shot.open = narrowed ? here > 0 && part.lines.length < 400 : part.wasOpen;
      cells += here;
      shots += here > 0;
    }
    said.textContent = narrowed ? `${cells} cells in ${shots} shots` : "";
  };
  let waiting = 0;
  if (words) {
    words.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(narrow, 120); });
    level.addEventListener("change", narrow);
    state.addEventListener("change", narrow);
  }

  const unfold = () => {
    const part = location.hash ? document.getElementById(location.hash.slice(1)) : null;
    if (part && part.tagName === "DETAILS") { part.open = true; part.scrollIntoView(); }
  };
  addEventListener("hashchange", unfold);
  unfold();
  addEventListener("beforeprint", () => all("details.shot").forEach((shot) => { shot.open = true; }));

  for (const band of all("svg[data-shots]")) {
    const names = JSON.parse(band.dataset.shots);
    const title = band.querySelector("title");
    const labels = all(".name", band).map((label) => label.textContent);
    const at = (event) => {
      const box = band.getBoundingClientRect();
      const scale = band.viewBox.baseVal.width / box.width;
      const across = (event.clientX - box.left) * scale - Number(band.dataset.x);
      const down = (event.clientY - box.top) * scale - Number(band.dataset.y);
      return [Math.floor((across / Number(band.dataset.w)) * names.length), Math.floor(down / Number(band.dataset.h))];
    };
    band.addEventListener("pointermove", (event) => {
      const [shot, row] = at(event);
      title.textContent = names[shot] && labels[row] ? `${names[shot]}, ${labels[row]}` : band.dataset.says;
    });
    band.addEventListener("click", (event) => {
      const [shot] = at(event);
      if (names[shot]) location.hash = `shot-${Number(band.dataset.first) + shot}`;
    });
  }
})();
