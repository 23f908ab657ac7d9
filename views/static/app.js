// Small comforts; every page works without them.
"use strict";
(function () {
  // A slash goes to the search box.
  document.addEventListener("keydown", (event) => {
    const busy = event.target.closest("input, textarea, select, [contenteditable]");
    if (event.key === "/" && !busy && !event.ctrlKey && !event.metaKey && !event.altKey) {
      const search = document.getElementById("search");
      if (search) {
        event.preventDefault();
        search.focus();
        search.select();
      }
    }
    // The arrows walk the links of a table from row to row, in their column.
    if ((event.key === "ArrowDown" || event.key === "ArrowUp") && event.target.matches("tbody a")) {
      const cell = event.target.closest("td, th");
      let row = cell.parentElement;
      do {
        row = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
        const link = row && row.cells[cell.cellIndex] && row.cells[cell.cellIndex].querySelector("a");
        if (link) {
          event.preventDefault();
          link.focus();
          return;
        }
      } while (row);
    }
  });

  // A form that changes something is sent once, however often it is pressed.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "true";
  });
  addEventListener("pageshow", () => {
    document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent);
  });
})();
