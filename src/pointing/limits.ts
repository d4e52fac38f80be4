/** Whether the mount may point there; by its other name. */
export * from "../mount/limits.js";
