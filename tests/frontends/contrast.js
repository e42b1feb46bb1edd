// Texts whose contrast with their ground is below 4.5 to 1 (WCAG 2.2: relative luminance, contrast ratio).
() => {
  const channel = (value) => {
    const share = value / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  const numbers = (colour) => colour.match(/[\d.]+/g).map(Number);
  const luminance = ([red, green, blue]) =>
    0.2126 * channel(red) + 0.7152 * channel(green) + 0.0722 * channel(blue);
  const ground = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const found = numbers(getComputedStyle(at).backgroundColor);
      if (found.length === 3 || found[3] > 0) return found;
    }
    return [255, 255, 255];
  };
  const contrast = (one) => {
    const pair = [luminance(numbers(getComputedStyle(one).color)), luminance(ground(one))].sort((a, b) => b - a);
    return (pair[0] + 0.05) / (pair[1] + 0.05);
  };
  const hasWords = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
  return [...document.querySelectorAll("body *")]
    .filter((one) => hasWords(one) && contrast(one) < 4.5)
    .map((one) => `${contrast(one).toFixed(2)} ${one.outerHTML.slice(0, 80)}`);
}
