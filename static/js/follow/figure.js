// The figure, as part of the page rather than as an image, so that its clock is the session's: it
// is told the second it should be at and plays on from there by itself.

const DRIFT = 0.04; // s that the drawing's clock may stray before it is put right

// As large as the place allows, and no larger: what passes by at the drawing's edges stays inside.
// A drawing that tells what it reaches is fitted to the place by that alone.
const FITTING = `
  :host { container-type: size; }
  img { width: 100cqw; height: 100cqh; object-fit: contain; }
  svg[data-reach] { width: 100cqw; height: 100cqh; }
  svg:not(svg svg, [data-reach]) { width: min(100cqw, 100cqh * 162 / 112); height: min(100cqh, 100cqw * 112 / 162); }
`;

export class Figure {
  /** `read` fetches a drawing's text, and rejects where it cannot. */
  constructor(holder, read = fetched) {
    Object.assign(this, { holder, read, url: "", drawing: null });
    this.root = holder.attachShadow({ mode: "open" });
    this.known = new Map();
  }

  /** Shows the drawing at `url`, "" for none; what cannot be shown leaves the place empty. */
  async show(url) {
    if (url === this.url) return;
    this.url = url;
    this.put(null);
    if (!url) return;
    if (!this.known.has(url))
      this.known.set(
        url,
        this.read(url).catch(() => ""),
      );
    const text = await this.known.get(url);
    if (!text) this.known.delete(url); // tried again when it is next asked for
    if (url === this.url) this.put(drawingOf(text));
  }

  /** Shows a photo instead, once it is all there. */
  async showPhoto(url) {
    if (url === this.url) return;
    this.url = url;
    this.put(null);
    const photo = Object.assign(new Image(), { alt: "", src: url });
    const isThere = await photo.decode().then(
      () => true,
      () => false,
    );
    if (isThere && url === this.url) this.put(photo);
  }

  put(shown) {
    this.drawing = shown instanceof SVGSVGElement ? shown : null;
    this.holder.toggleAttribute("data-drawn", Boolean(shown));
    this.root.replaceChildren(...(shown ? [shown] : []));
    this.root.adoptedStyleSheets = shown ? [styleOf(shown)] : [];
  }

  /** Puts the drawing at a second of its loop, and lets it play or stand. */
  keepTime(second, isPlaying) {
    if (!this.drawing) return;
    if (Math.abs(this.drawing.getCurrentTime() - second) > DRIFT)
      this.drawing.setCurrentTime(second);
    if (isPlaying) this.drawing.unpauseAnimations();
    else this.drawing.pauseAnimations();
  }
}

async function fetched(url) {
  const answer = await fetch(url);
  return answer.ok && !answer.redirected ? answer.text() : "";
}

function drawingOf(text) {
  const drawn = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  return drawn.nodeName === "svg" ? fitted(document.importNode(drawn, true)) : null;
}

/** Shows what the drawing reaches, and not the room about it; its two stills need all of it. */
function fitted(drawn) {
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) delete drawn.dataset.reach;
  if (drawn.dataset.reach) {
    drawn.setAttribute("viewBox", drawn.dataset.reach);
    drawn.setAttribute("preserveAspectRatio", drawn.dataset.fit);
  }
  return drawn;
}

/** Its size, and a drawing's own style, as a sheet of its root: the page's policy allows no style element. */
function styleOf(shown) {
  const sheet = new CSSStyleSheet();
  const own = shown.querySelector("style");
  own?.remove();
  sheet.replaceSync(`${FITTING} ${own?.textContent ?? ""}`);
  return sheet;
}
