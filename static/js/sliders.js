// A slider says its value as it moves.

document.addEventListener("input", ({ target }) => {
  if (target.type !== "range") return;
  const said = target.value + target.dataset.unit;
  target.setAttribute("aria-valuetext", said);
  target.parentElement.querySelector(".slider-value").textContent = said;
});
