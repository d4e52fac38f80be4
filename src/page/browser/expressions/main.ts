/** mathjs's parser by itself: it goes only into the pages of mounts that have terms of their own. */
import { expressionParser } from "../../../mount/expression-parser-browser.js";

Object.assign(globalThis, { polewrightExpressions: expressionParser() });
