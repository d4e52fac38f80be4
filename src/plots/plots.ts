/** Every figure, by name. */
export { axisPointing } from "./axis-pointing.js";
export { axisWalk } from "./axis-walk.js";
export { baseFromAbove } from "./base-from-above.js";
export { beforeAfter } from "./before-after.js";
export { mountPart } from "./mount-part.js";
export { type PointingMap, pointingUncertainty } from "./pointing-uncertainty.js";
export { residualAngles } from "./residual-angles.js";
export { residualSky } from "./residual-sky.js";
export { roundsConverging } from "./rounds-converging.js";
export { shadowByHour } from "./shadow-by-hour.js";
export { skyCoverage } from "./sky-coverage.js";
export { figureSvg } from "./svg.js";
export { targetsSky } from "./targets-sky.js";
export { correlatedPairs, termCorrelation } from "./term-correlation.js";
export { termEffects, termPattern } from "./term-pattern.js";
export { themed } from "./themed.js";
export { zeroJump } from "./zero-jump.js";
