"use strict";

/** Once the page stands: a player for every exercise, and on the course page how far the student has come. */
(() => {
  const memory = new Memory(document.body.dataset.course || "");
  const wishes = new Wishes(document, memory);
  wishes.onChange = () => Player.heed(wishes);
  for (const section of document.querySelectorAll("[data-exercise]")) {
    if (section instanceof HTMLElement) new Player(section, memory, wishes);
  }
  for (const line of document.querySelectorAll("[data-progress]")) {
    if (line instanceof HTMLElement) showProgress(line, memory);
  }
})();

/**
 * @param {HTMLElement} line
 * @param {Memory} memory
 */
function showProgress(line, memory) {
  /** @type {{exercise: string, bpm: number[]}[]} */
  const exercises = JSON.parse(line.dataset.progress || "[]");
  const rungs = exercises.flatMap(({ exercise, bpm }) => bpm.map((each) => memory.sits(exercise, each)));
  const sitting = rungs.filter(Boolean).length;
  line.textContent = `${sitting} of ${rungs.length} rungs sit`;
  line.hidden = sitting === 0;
}
