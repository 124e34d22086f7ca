// Buttons with data-print print the page; hidden until this runs.
for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-print]')) {
  button.hidden = false;
  button.addEventListener('click', () => window.print());
}
