import type { NightFolder } from "../files/night-folder.js";
export async function enterAtTelescope(_book: NightFolder, _o: { theme?: string }): Promise<void> {}
