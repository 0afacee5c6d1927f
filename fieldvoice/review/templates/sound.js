"use strict";
// Plays the sound of a line: one at a time, a second press stops it.
(() => {
  const kept = document.getElementById("sounds");
  const within = kept ? JSON.parse(kept.textContent) : {};
  const player = document.createElement("audio");
  player.hidden = true;
  document.body.append(player);
  let pressed = null;

  function rest() {
    if (pressed) pressed.setAttribute("aria-pressed", "false");
    pressed = null;
  }
  function fail() {
    if (pressed) {
      pressed.disabled = true;
      pressed.title = "cannot be played";
    }
    rest();
  }
  function play(button) {
    const wanted = button.dataset.sound;
    const source = wanted.startsWith("#") ? within[wanted] : wanted;
    pressed = button;
    if (!source) return fail();
    button.setAttribute("aria-pressed", "true");
    player.src = source;
    player.play().catch((error) => { if (error.name !== "AbortError") fail(); });
  }
  player.addEventListener("ended", rest);
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button.play");
    if (!button) return;
    const again = button === pressed;
    player.pause();
    rest();
    if (!again) play(button);
  });
})();
