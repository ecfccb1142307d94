// A passkey is made or shown when its form is sent: `data-passkey` says which ("create" or "get"),
// and what the server asks for stands in the JSON script named by `data-options`, or is fetched from
// the form's own address. The form takes the answer along in its field `credential`.

const CANNOT =
  "This browser cannot use passkeys here. An app that shows codes works in every browser.";
const NOT_DONE = "That did not work, or was stopped. Try again, or use another way.";

const MAKE = {
  create: (asked) =>
    navigator.credentials.create({
      publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(
        storedWithTheAccount(asked.publicKey),
      ),
    }),
  get: (asked) =>
    navigator.credentials.get({
      publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(asked.publicKey),
    }),
};

// Where the device can, the passkey also signs in by itself, without a mailed code.
function storedWithTheAccount(options) {
  const { authenticatorSelection: wished } = options;
  const selection = { ...wished, residentKey: "preferred", requireResidentKey: false };
  return { ...options, authenticatorSelection: selection };
}

const isPossible = () => Boolean(window.PublicKeyCredential?.parseCreationOptionsFromJSON);

async function asked(form) {
  const written = document.getElementById(form.dataset.options);
  if (written) return JSON.parse(written.textContent);
  const answer = await fetch(form.action, { headers: { accept: "application/json" } });
  return (await answer.json()).request_options;
}

async function send(form) {
  try {
    const passkey = await MAKE[form.dataset.passkey](await asked(form));
    form.elements.credential.value = JSON.stringify(passkey);
    form.submit();
  } catch {
    say(form, NOT_DONE);
  }
}

function say(form, words) {
  const place = form.querySelector("[data-passkey-fault]");
  place.textContent = words;
  place.hidden = false;
}

for (const form of document.querySelectorAll("[data-passkey]")) {
  if (isPossible()) form.hidden = false;
  else say(form, CANNOT);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (isPossible()) send(form);
  });
}
