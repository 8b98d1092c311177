// A figure as it is typed: whether it is one, and how it stands in the file.

const LENGTH = /^-?(?:\d+(?:\.\d*)?|\.\d+|(?:(\d+) )?(\d+)\/(\d+))$/;
const LONGEST = 14;

const isShare = (unit) => unit === "%" || unit === "°";
const hasFractions = (unit) => unit === "in" || unit === "ft";

// Whether what was typed is a figure: beside a whole number a fraction is under one.
function isFigure({ typed, unit }) {
  const found = LENGTH.exec(typed.trim());
  if (!found) return false;
  const [, whole, top, bottom] = found;
  if (bottom === undefined) return true;
  return hasFractions(unit) && Number(bottom) > 0 && (whole === undefined || Number(top) < Number(bottom));
}

const isTyped = (figure) => Boolean(figure && figure.typed.trim());
const isRead = (figure) => isTyped(figure) && isFigure(figure);
const written = ({ typed, unit }) => `${typed.trim()}${unit === "°" ? "" : " "}${unit}`;
const shownAs = (figure) => isTyped(figure) ? written(figure).replace("-", "−") : "";

// Words as a TOML basic string.
function quoted(words) {
  const plain = words.replace(/[\\"]/g, "\\$&").replace(/\s+/g, " ");
  return `"${[...plain].filter((sign) => sign >= " " && sign !== "\u007f").join("")}"`;
}
