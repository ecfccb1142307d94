// What is too large or too many is said at its field before it is sent; the server asks again.

const MEGABYTE = 1024 * 1024;

function fault(field) {
  const [file] = field.files;
  if (!file) return "";
  if (file.size === 0) return "This file is empty. Choose another one.";
  const kind = file.type.startsWith("video/") ? "clip" : "photo";
  const most = Number(field.dataset[kind === "clip" ? "mostClip" : "mostPhoto"]);
  return most && file.size > most * MEGABYTE
    ? `This ${kind} is too large: ${most} MB at most.`
    : "";
}

function told(field) {
  const id = `${field.id}-fault`;
  let element = document.getElementById(id);
  if (!element) {
    element = Object.assign(document.createElement("p"), {
      id,
      className: "invalid-feedback d-block",
    });
    element.setAttribute("role", "alert");
    field.after(element);
  }
  return element;
}

document.addEventListener("change", (event) => {
  const field = event.target;
  if (!("upload" in (field.dataset ?? {}))) return;
  const said = fault(field);
  told(field).textContent = said;
  field.setAttribute("aria-invalid", String(said !== ""));
  if (said) field.value = "";
});
