// A button that prints; the page opens the print dialogue itself when it was asked for on paper.
for (const button of document.querySelectorAll("[data-paper]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
if (new URLSearchParams(location.search).has("paper")) window.print();
