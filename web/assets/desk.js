// The grid at a desk: arrow keys and Enter go from cell to cell.

for (const desk of document.querySelectorAll("form[data-desk]")) {
  for (const hint of desk.querySelectorAll(".script")) hint.hidden = false;
  const rows = () => [...desk.querySelectorAll("table.desk tbody tr")].map((row) => [...row.querySelectorAll("input:not([type=hidden]), select")]).filter((cells) => cells.length);
  const find = (cell) => {
    const grid = rows();
    const y = grid.findIndex((cells) => cells.includes(cell));
    return { grid, y, x: y < 0 ? -1 : grid[y].indexOf(cell) };
  };
  const go = (cell) => {
    if (!cell) return;
    cell.focus();
    if (cell.matches("input")) cell.select();
  };

  // Within words the arrows stay with them until their end.
  const atEdge = (cell, key) => {
    if (!cell.matches(".note input") || cell.selectionEnd - cell.selectionStart === cell.value.length) return true;
    return key === "ArrowLeft" ? cell.selectionEnd === 0 : cell.selectionStart === cell.value.length;
  };

  desk.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const { grid, y, x } = find(event.target);
    if (y < 0) return;
    const to = {
      ArrowDown: () => grid[y + 1]?.[x], Enter: () => grid[y + (event.shiftKey ? -1 : 1)]?.[x], ArrowUp: () => grid[y - 1]?.[x],
      ArrowLeft: () => atEdge(event.target, event.key) && grid[y][x - 1], ArrowRight: () => atEdge(event.target, event.key) && grid[y][x + 1],
    }[event.key];
    if (!to || (event.shiftKey && event.key !== "Enter")) return;
    const cell = to();
    if (cell === false) return;
    event.preventDefault();
    go(cell);
  });

  // Enter goes down; the button sends.
  desk.addEventListener("keypress", (event) => { if (event.key === "Enter" && find(event.target).y >= 0) event.preventDefault(); });

  // A cell for a degree holds one sign: the next one takes its place.
  desk.addEventListener("input", (event) => {
    if (event.target.matches(".degree-cell")) {
      event.target.value = event.target.value.trim().slice(-1).toLowerCase();
      event.target.removeAttribute("aria-invalid");
    }
    const { grid, y } = find(event.target);
    if (y < 0) return;
    const [joint, ...rest] = grid[y];
    joint.required = rest.some((cell) => cell.value); // checked before it is sent
  });
  desk.addEventListener("focusin", (event) => { if (event.target.matches(".degree-cell")) event.target.select(); });
}

// Buttons that only a script can carry out.
for (const print of document.querySelectorAll("[data-print]")) {
  print.hidden = false;
  print.addEventListener("click", () => window.print());
}
