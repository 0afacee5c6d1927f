// Plays a line where it stands, and takes keys. Without this the pages do all the same.
"use strict";
(() => {
  const player = new Audio();
  let playing = null;
  const stop = () => {
    player.pause();
    if (playing) playing.classList.remove("playing");
    playing = null;
  };
  player.addEventListener("ended", stop);
  const play = (link) => {
    const again = link === playing;
    stop();
    if (again) return;
    playing = link;
    link.classList.add("playing");
    player.src = link.href;
    player.play().catch(stop);
  };
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.play");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    play(link);
  });

  const stops = () => [...document.querySelectorAll("[data-keys] a:not(.play)")];
  const step = (by) => {
    const all = stops();
    const here = document.activeElement.closest("[data-keys] li, [data-keys] tr");
    const now = all.findIndex((link) => here && here.contains(link));
    const next = all[now < 0 ? (by > 0 ? 0 : all.length - 1) : now + by];
    if (next) next.focus();
  };
  const follow = (query) => {
    const link = document.querySelector(query);
    if (link) link.click();
  };
  const playHere = () => {
    const sound = document.querySelector("main audio");
    if (sound) return sound.paused ? sound.play() : sound.pause();
    const here = document.activeElement.closest("[data-keys] li");
    const link = here && here.querySelector("a.play");
    if (link) play(link);
  };
  const keys = {
    j: () => step(1), k: () => step(-1), p: playHere,
    n: () => follow('main a[rel="next"]'), b: () => follow('main a[rel="prev"]'),
    u: () => follow('a[data-key="u"]'),
    "/": () => document.querySelector('input[type="search"]')?.focus(),
  };
  for (const key of ["r", "w"]) {
    keys[key] = () => {
      const choice = document.querySelector(`input[data-key="${key}"]`);
      if (choice) { choice.checked = true; choice.focus(); }
    };
  }
  // Who speaks to the computer, or whose fingers stray, can do without keys of one letter
  // (WCAG 2.2, 2.1.4). Kept in a cookie: the address has another port with every start.
  const switched = document.createElement("button");
  let on = !/(^|; )fieldvoice-keys=off(;|$)/.test(document.cookie);
  const say = () => {
    switched.textContent = on ? "Switch the letter keys off" : "Switch the letter keys on";
    document.querySelector("footer .keys")?.classList.toggle("off", !on);
  };
  switched.type = "button";
  switched.addEventListener("click", () => {
    on = !on;
    document.cookie = `fieldvoice-keys=${on ? "on" : "off"}; path=/; max-age=31536000; samesite=strict`;
    say();
  });
  document.querySelector("body > footer")?.append(switched);
  say();
  document.addEventListener("keydown", (event) => {
    const typing = event.target.matches('input:not([type="radio"]):not([type="checkbox"]), textarea, select');
    if (!on || typing || event.ctrlKey || event.metaKey || event.altKey || !(event.key in keys)) return;
    event.preventDefault();
    keys[event.key]();
  });
})();
