/** A headless Chromium with a profile of its own, which sees no network. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { inflateSync } from "node:zlib";
import { type BrowserContext, chromium, type Page } from "playwright-core";
import { FLAGS, PROGRAM } from "../../.dev/chromium.mjs";

export { FLAGS, PROGRAM };

/** A page, and what went wrong on it. */
export interface Watched {
  readonly page: Page;
  /** Errors thrown or logged, dialogs opened, and addresses asked for outside the page's own. */
  readonly troubles: string[];
}

/** A browser for one file of checks. */
export class Browser {
  private constructor(
    private readonly profile: string,
    private readonly context: BrowserContext,
  ) {}

  static async open(options: { readonly javaScriptEnabled?: boolean } = {}): Promise<Browser> {
    const profile = mkdtempSync(join(tmpdir(), "polewright-browser-"));
    const context = await chromium.launchPersistentContext(profile, {
      executablePath: PROGRAM,
      headless: true,
      args: FLAGS,
      viewport: { width: 900, height: 900 },
      ...options,
    });
    return new Browser(profile, context);
  }

  /** A new page with this HTML, watched. */
  async show(html: string, widthPx = 900): Promise<Watched> {
    const page = await this.context.newPage();
    const troubles: string[] = [];
    page.on("pageerror", (error) => troubles.push(`error: ${error.message}`));
    page.on("console", (message) => {
      if (message.type() === "error") troubles.push(`console: ${message.text()}`);
    });
    page.on("dialog", (dialog) => {
      troubles.push(`dialog: ${dialog.message()}`);
      void dialog.dismiss();
    });
    page.on("request", (request) => {
      if (!/^(about|data|blob):/.test(request.url())) troubles.push(`request: ${request.url()}`);
    });
    await page.setViewportSize({ width: widthPx, height: 900 });
    await page.setContent(html);
    return { page, troubles };
  }

  async close(): Promise<void> {
    await this.context.close();
    rmSync(this.profile, { recursive: true, force: true });
  }
}

/** Waits until so many figures of a page have been drawn by the library. */
export async function drawn(page: Page, count: number): Promise<void> {
  await page.waitForFunction(
    (n) => document.querySelectorAll(".js-plotly-plot .main-svg").length >= n,
    count,
    {
      timeout: 60_000,
    },
  );
}

/** The largest red, green and blue of a screenshot: a PNG of 8 bits without interlace, read as its specification says (W3C PNG, 2003). */
export function brightest(png: Buffer): { red: number; green: number; blue: number } {
  const parts: Buffer[] = [];
  let width = 0;
  let channels = 0;
  for (let at = 8; at < png.length; ) {
    const length = png.readUInt32BE(at);
    const type = png.toString("latin1", at + 4, at + 8);
    const data = png.subarray(at + 8, at + 8 + length);
    if (type === "IHDR") {
      width = data.readUInt32BE(0);
      channels = data[9] === 6 ? 4 : 3;
    } else if (type === "IDAT") {
      parts.push(data);
    }
    at += length + 12;
  }
  const raw = inflateSync(Buffer.concat(parts));
  const stride = width * channels;
  let above = new Uint8Array(stride);
  const most = [0, 0, 0];
  for (let start = 0; start < raw.length; start += stride + 1) {
    const filter = raw[start]!;
    const line = new Uint8Array(raw.subarray(start + 1, start + 1 + stride));
    for (let index = 0; index < stride; index++) {
      const left = index >= channels ? line[index - channels]! : 0;
      const up = above[index]!;
      const corner = index >= channels ? above[index - channels]! : 0;
      line[index] = line[index]! + predicted(filter, left, up, corner);
      const channel = index % channels;
      if (channel < 3 && line[index]! > most[channel]!) most[channel] = line[index]!;
    }
    above = line;
  }
  return { red: most[0]!, green: most[1]!, blue: most[2]! };
}

function predicted(filter: number, left: number, up: number, corner: number): number {
  switch (filter) {
    case 1:
      return left;
    case 2:
      return up;
    case 3:
      return (left + up) >> 1;
    case 4: {
      const p = left + up - corner;
      const [a, b, c] = [Math.abs(p - left), Math.abs(p - up), Math.abs(p - corner)];
      return a <= b && a <= c ? left : b <= c ? up : corner;
    }
    default:
      return 0;
  }
}
