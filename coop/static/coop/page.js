// What every page may have: the theme without a reload, a live clock, a countdown. All of it works without.

const YEAR_S = 365 * 24 * 3600;

for (const link of document.querySelectorAll("[data-theme-to]")) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    const theme = link.dataset.themeTo;
    const secure = location.protocol === "https:" ? "; secure" : "";
    document.cookie = `theme=${theme}; path=/; max-age=${YEAR_S}; samesite=lax${secure}`;
    document.documentElement.dataset.theme = theme;
    document.querySelector(`[data-theme-to="${theme === "night" ? "day" : "night"}"]`)?.focus();
  });
}

const two = (number) => String(number).padStart(2, "0");

// <time data-clock data-zone="Europe/Paris">: the time of day in the club's zone
function showClock(place) {
  const zone = place.dataset.zone || undefined;
  place.textContent = new Date().toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: zone });
}

// <b data-countdown="2026-03-22T11:48:00Z">: minutes and seconds to a moment; past it, how long ago
function showCountdown(place) {
  const left = Math.round((Date.parse(place.dataset.countdown) - Date.now()) / 1000);
  const size = Math.abs(left);
  const text = size < 3600 ? `${Math.floor(size / 60)}:${two(size % 60)}` : `${Math.floor(size / 3600)} h ${two(Math.floor((size % 3600) / 60))}`;
  place.textContent = left < 0 ? `−${text}` : text;
  const bar = place.dataset.bar && document.getElementById(place.dataset.bar);
  if (bar) bar.value = Math.min(bar.max, Math.max(0, bar.max - left));
}

function tick() {
  document.querySelectorAll("[data-clock]").forEach(showClock);
  document.querySelectorAll("[data-countdown]").forEach(showCountdown);
}
tick();
if (document.querySelector("[data-clock], [data-countdown]")) setInterval(tick, 1000);

// one deed, one tap: the key makes a second one harmless, this makes it visible that the first was felt
document.addEventListener("submit", (event) => {
  if (event.target.method !== "post") return;
  for (const button of event.target.querySelectorAll("button:not([type=button])")) {
    setTimeout(() => { button.disabled = true; }, 0);
    setTimeout(() => { button.disabled = false; }, 8000);
  }
});
addEventListener("pageshow", () => document.querySelectorAll("form button[disabled]").forEach((button) => { button.disabled = false; }));

// <button data-print>: paper
document.addEventListener("click", (event) => { if (event.target.closest("[data-print]")) print(); });
