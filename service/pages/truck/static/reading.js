// A reading as it is typed: the number that was meant, or what is wrong with it, said beside the field.

const NUMBER = /^([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*([kKM])?\s*[^\d.,+-]*$/;

function readNumber(text, unit) {
  const given = text.trim();
  if (unit === "ohm" && /^(o\.?l\.?|open|infinite|∞)$/i.test(given)) return 1e7;
  const match = NUMBER.exec(given);
  if (!match || (match[2] && unit !== "ohm")) return null;
  const value = Number(match[1].replace(",", ".")) * ({ k: 1e3, K: 1e3, M: 1e6 }[match[2]] ?? 1);
  return Number.isFinite(value) && Math.abs(value) <= 1e9 ? value : null;
}

// What is wrong stands where it is mended: under the question, or above the field.
function complain(form, field, message) {
  form.querySelector(".wrong")?.remove();
  const line = document.createElement("p");
  line.className = "wrong";
  line.setAttribute("role", "alert");
  line.textContent = message;
  const legend = field.closest("fieldset")?.querySelector("legend");
  if (legend) legend.after(line);
  else field.closest(".measured").before(line);
  field.focus();
}

// A figure that no instrument shows there, in the words in which the office would refuse it.
function impossible(field, value, unit) {
  const [low, high, shown] = JSON.parse(field.dataset.ranges ?? "{}")[unit] ?? [-Infinity, Infinity];
  return value < low || value > high
    ? `Not saved: this is outside what the instrument can show here: ${shown}.` : null;
}

export function readingOf(form) {
  const data = new FormData(form);
  const calling = { yes: true, no: false }[data.get("calling")] ?? null;
  if (form.elements.calling && calling === null) {
    return complain(form, form.elements.calling[0], "Say whether the thermostat is calling.");
  }
  const body = { check: data.get("test"), component: data.get("component"), calling };
  if (!form.elements.value) {
    if (data.get("outcome")) return { ...body, outcome: data.get("outcome") };
    const first = form.elements.outcome[0] ?? form.elements.outcome;
    return complain(form, first, "Choose what you found.");
  }
  if (data.get("outcome") && !data.get("value").trim()) return { ...body, outcome: data.get("outcome") };
  const unit = data.get("unit");
  const value = readNumber(data.get("value"), unit);
  if (value === null) {
    const example = unit === "ohm" ? "24.5, or OL for an open circuit" : "24.5";
    return complain(form, form.elements.value, `Write the reading as one number, for example ${example}.`);
  }
  const wrong = impossible(form.elements.value, value, unit);
  if (wrong) return complain(form, form.elements.value, wrong);
  return { ...body, value, unit };
}
