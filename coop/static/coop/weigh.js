// A figure to reach: echoes what is typed large, moves the pointer on its bar, says how far off, and draws the keys.
// The server judges again; without this module the plain box does the same.

const NARROW = "\u202f";
const HALF = 164, FINE_X = 30, WARN_X = 118;

// digits with a comma or a point to mg, as the server reads them; NaN while it is not a number
function milligrams(text) {
  const plain = text.replace(/[\s\u00a0\u202f']/g, "");
  if (!/^\d+([.,]\d{0,3})?$/.test(plain)) return NaN;
  return Math.round(Number(plain.replace(",", ".")) * 1000);
}

function grouped(text) {
  const [whole, sign, rest] = text.replace(/[\s\u00a0\u202f']/g, "").split(/([.,])/);
  return whole.replace(/\B(?=(\d{3})+(?!\d))/g, NARROW) + (sign ?? "") + (rest ?? "");
}

function grams(mg, places) {
  return grouped((mg / 1000).toFixed(Math.max(places, 0))) + NARROW + "g";
}

function pointerX(off, fine, warn) {
  const size = Math.abs(off);
  const x = size <= fine ? (FINE_X * size) / (fine || 1) : Math.min(FINE_X + ((WARN_X - FINE_X) * (size - fine)) / (warn - fine || 1), HALF - 7);
  return HALF + (off < 0 ? -x : x);
}

function judge(part, mg) {
  const { target, fine, warn, places, wordFine, wordSoon, wordStop, wordUnder, wordOver, wordExact } = part.dataset;
  const off = mg - Number(target), size = Math.abs(off);
  const state = size <= Number(fine) ? "fine" : size <= Number(warn) ? "soon" : "stop";
  const word = { fine: wordFine, soon: wordSoon, stop: wordStop }[state];
  const finest = size % 1000 === 0 ? Number(places) : size % 100 === 0 ? 1 : size % 10 === 0 ? 2 : 3;
  const rest = off === 0 ? wordExact : `${grams(size, Math.max(finest, Number(places)))} ${off < 0 ? wordUnder : wordOver}`;
  return { state, word, rest, x: pointerX(off, Number(fine), Number(warn)) };
}

function say(place, part, found) {
  place.replaceChildren();
  if (!found) return;
  const line = document.createElement("span");
  line.className = "state";
  const words = document.createElement("span");
  const bold = document.createElement("b");
  bold.textContent = found.word;
  words.append(bold, `, ${found.rest}`);
  line.append(part.querySelector(`[data-mark="${found.state}"] svg`).cloneNode(true), words);
  place.append(line);
}

function begin(part) {
  const input = part.querySelector("input:not([type=hidden])");
  const entry = part.querySelector("[data-entry]");
  const pointer = part.querySelector("[data-pointer]");
  const button = document.querySelector("[data-repeat]");
  const plainWord = button?.textContent;

  function show() {
    const mg = milligrams(input.value);
    const found = Number.isNaN(mg) ? null : judge(part, mg);
    entry.replaceChildren();
    entry.classList.toggle("is-long", input.value.length > 6);
    if (input.value) {
      const unit = document.createElement("span");
      unit.className = "unit";
      unit.textContent = `${NARROW}g`;
      entry.append(grouped(input.value), unit);
    }
    pointer.setAttribute("visibility", found ? "visible" : "hidden");
    if (found) pointer.firstElementChild.setAttribute("transform", `translate(${found.x.toFixed(1)} 0)`);
    say(part.querySelector("[data-judged]"), part, found);
    if (button) button.textContent = found ? `${button.dataset.repeat} ${grouped(input.value)}${NARROW}g` : plainWord;
  }

  part.querySelector("[data-pad]").addEventListener("click", (event) => {
    const key = event.target.closest("[data-key]")?.dataset.key;
    if (!key) return;
    input.value = key === "back" ? input.value.slice(0, -1) : input.value + key;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
  input.addEventListener("input", show);
  entry.addEventListener("click", () => input.focus());
  input.setAttribute("inputmode", "none"); // the keys below are larger than the device's own
  part.classList.add("has-pad");
  part.querySelector("[data-pad]").hidden = false;
  entry.hidden = false;
  show();
}

document.querySelectorAll("[data-reach]").forEach(begin);
