/** The Chromium that draws pictures and runs checks, and how it is started: quietly, and asking nothing of the network. */
export const PROGRAM = process.env.CHROMIUM ?? "/usr/bin/chromium";
export const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
