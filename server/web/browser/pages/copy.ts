// Buttons with data-copy="ID" copy that field's text. They are hidden until this runs, and where copying is not
// allowed (plain HTTP on a network address).
for (const button of document.querySelectorAll<HTMLButtonElement>('button[data-copy]')) {
  const field = document.getElementById(button.dataset.copy ?? '');
  if (!(field instanceof HTMLInputElement) || !navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener('click', async () => {
    field.select();
    await navigator.clipboard.writeText(field.value);
    button.textContent = 'Copied';
  });
}
