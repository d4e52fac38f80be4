export { seededRandom } from "../../src/simulate/random.js";
