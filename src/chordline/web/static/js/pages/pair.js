/** Tells how long a code for a tablet still holds, and takes it away when it is over. */

const box = document.querySelector("[data-pairing]");
const told = box?.querySelector("[data-left]");

if (box instanceof HTMLElement && told instanceof HTMLElement) {
  const until = performance.now() + 1000 * Number(box.dataset.pairing);
  const clock = setInterval(tell, 1000);

  function tell() {
    const left = Math.ceil((until - performance.now()) / 1000);
    if (left > 0) {
      const seconds = String(left % 60).padStart(2, "0");
      // Said aloud once a minute only; shown every second.
      told.setAttribute("aria-live", left % 60 === 0 ? "polite" : "off");
      told.textContent = `It holds for ${Math.floor(left / 60)}:${seconds} more.`;
      return;
    }
    clearInterval(clock);
    box.classList.add("over");
    told.setAttribute("aria-live", "polite");
    told.textContent = "This code is too old. Make another one.";
  }

  tell();
}
