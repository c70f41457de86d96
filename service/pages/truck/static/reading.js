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

export function readingOf(form, checks, unitWords) {
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
  const unit = data.get("unit");
  const value = readNumber(data.get("value"), unit);
  if (value === null) {
    const example = unit === "ohm" ? "24.5, or OL for an open circuit" : "24.5";
    return complain(form, form.elements.value, `Write the reading as one number, for example ${example}.`);
  }
  const check = checks?.find((c) => c.check === body.check);
  if (check?.range && unit === check.unit && (value < check.range[0] || value > check.range[1])) {
    const shown = `${check.range[0]} to ${check.range[1]} ${unitWords[unit] ?? unit}`;
    return complain(form, form.elements.value, `An instrument shows ${shown} here. Look at its range and write it again.`);
  }
  return { ...body, value, unit };
}
