// The page first: on a poor link script waits until all else is there.
const { then } = document.querySelector("script[data-then]").dataset;
const go = () => import(`./${then}`);
if (document.readyState === "complete") go();
else addEventListener("load", go);
