// A program's plays by the keyboard: on a play, Alt with an arrow moves it, Delete takes it out; Ctrl+Z (⌘Z) takes the
// last change back. Each key presses a button that is there, so that everything works without this as well.
const press = (button: Element | null | undefined) => {
  if (button instanceof HTMLButtonElement && !button.disabled) button.click();
};

document.addEventListener('keydown', (event) => {
  const at = event.target instanceof Element ? event.target : null;
  if (at?.closest('input, textarea, select')) return;
  if ((event.ctrlKey || event.metaKey) && !event.shiftKey && event.key === 'z') {
    event.preventDefault();
    press(document.querySelector('#undo'));
    return;
  }
  const play = at?.closest('[data-play]');
  if (!play) return;
  const button =
    event.altKey && event.key === 'ArrowUp'
      ? play.querySelector('[data-do="earlier"]')
      : event.altKey && event.key === 'ArrowDown'
        ? play.querySelector('[data-do="later"]')
        : event.key === 'Delete'
          ? play.querySelector('[data-do="out"]')
          : undefined;
  if (button === undefined) return;
  event.preventDefault();
  press(button);
});

// After a move the play that was moved has the focus, for the next key.
const moved = location.hash.startsWith('#play-') ? document.getElementById(location.hash.slice(1)) : null;
moved?.focus({ preventScroll: false });
