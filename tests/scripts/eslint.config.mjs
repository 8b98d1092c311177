import js from "@eslint/js";
import globals from "globals";
import { readFileSync, readdirSync } from "node:fs";

const MOVING = "linkmotion/views/moving/assets/";
const FOLDERS = { [MOVING]: [], "linkmotion/bench/assets/": [], "linkmotion/views/phone/assets/": [`${MOVING}bodies.js`, `${MOVING}drawing.js`] };

// A page puts its scripts one after the other into one closure (views/moving/page.py, bench/pages.py,
// views/phone/phone_page.py, which takes two scripts of the moving page along), so that what one
// of them declares at its outermost level the others may use: found here from the files themselves.
function shared(folder, others) {
  const root = new URL("../../", import.meta.url);
  const own = readdirSync(new URL(folder, root)).filter((name) => name.endsWith(".js")).map((name) => folder + name);
  return [...own, ...others].flatMap((name) =>
    [...readFileSync(new URL(name, root), "utf-8")
      .matchAll(/^(?:const|(?:async )?function|class) ([\w$]+)|^const \w+ = .*?, (\w+) =/gm)]
      .flatMap((found) => found.slice(1)).filter(Boolean));
}

export default [
  js.configs.recommended,
  ...Object.entries(FOLDERS).map(([folder, others]) => ({
    files: [`${folder}*.js`],
    languageOptions: {
      ecmaVersion: 2022,
      sourceType: "script",
      globals: { ...globals.browser, ...Object.fromEntries(shared(folder, others).map((name) => [name, "readonly"])) },
    },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      "no-redeclare": ["error", { builtinGlobals: false }], // each script declares what the others share
      "no-unused-vars": ["error", { vars: "local" }], // the outermost names are there for the other scripts
      "no-shadow": ["error", { builtinGlobals: false, hoist: "functions" }], // a hidden name is read for the other
      "eqeqeq": "error", // "0" is not 0
      "no-var": "error", // one way to declare
      "prefer-const": "error", // what changes is seen at its declaration
      "no-implicit-globals": "off", // the closure holds them
      "no-eval": "error", // the page's own policy forbids it
      "no-implied-eval": "error", // the same
    },
  })),
];
