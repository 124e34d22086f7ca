/** What an observer's device keeps, so that their list and an entry page open without a network. */
export const keptFiles: readonly string[] = ['style.css', 'latin.woff2', 'app.webmanifest', 'mark.svg'];
export const keptScripts: readonly string[] = ['report-entry.js', 'my-games.js'];
