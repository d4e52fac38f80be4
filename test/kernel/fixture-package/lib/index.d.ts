import type { Buffer } from "node:buffer";
export declare const HALF_TURN: number;
export type StarName = "Achernar" | "Acrux" | "Betelgeuse" | "Canopus" | "Mizar" | "Unukalhai" | "α Centauri";
export interface Sighting {
  readonly star: StarName;
  readonly hourAngle: number;
  /** Only there so that Node's types must resolve from the package's own folder. */
  readonly raw?: Buffer;
}
/** Notes a sighting. */
export declare function sight(star: StarName, hourAngle: number): Sighting;
export declare function show(bundle: Readonly<Record<string, string>>): void;
export declare function inNotebook(): boolean;
