# access.sh - the sheet on a wide and on a narrow screen, asked for barriers by axe-core in Chromium.   access.sh PROGRAM
# It needs chromium, node, and the packages axe-core and puppeteer-core where NODE_PATH leads
# (npm install --prefix DIR axe-core puppeteer-core; NODE_PATH=DIR/node_modules); else it is skipped.
set -u
program=$(realpath "$1")
here=$(realpath "$(dirname "$0")")
browser=$(command -v chromium || command -v chromium-browser)
if [ -z "$browser" ] || ! command -v node >/dev/null ||
    ! node -e 'require.resolve("axe-core"); require.resolve("puppeteer-core")' 2>/dev/null; then
    echo "access: skipped, for chromium, node, axe-core or puppeteer-core is not there"
    exit 0
fi
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cat >"$work/look.js" <<'JS'
const fs = require('fs');
const puppeteer = require('puppeteer-core');
const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const [browserPath, ...files] = process.argv.slice(2);
(async () => {
    const browser = await puppeteer.launch({executablePath: browserPath, args: ['--no-sandbox', '--disable-gpu']});
    let wrong = 0;
    for (const file of files) {
        for (const width of [1000, 390]) {
            const page = await browser.newPage();
            await page.setBypassCSP(true); // the page lets no script in
            await page.setViewport({width, height: 900});
            await page.goto('file://' + file);
            await page.evaluate(axe);
            const found = await page.evaluate(() => window.axe.run());
            for (const barrier of found.violations)
                console.log(`${file} at ${width}: ${barrier.id}: ${barrier.help}: ${barrier.nodes[0].html}`);
            const reach = await page.evaluate(() => document.documentElement.scrollWidth);
            if (reach > width)
                console.log(`${file} at ${width}: it has to be scrolled sideways, to ${reach}`);
            wrong += found.violations.length + (reach > width ? 1 : 0);
            await page.close();
        }
    }
    await browser.close();
    process.exit(wrong ? 1 : 0);
})().catch(error => { console.log(String(error)); process.exit(1); });
JS
count=0
for name in bench-warmer goat-trough-lift porch-barrel-beds pasture-well; do
    "$program" sheet --today 2026-06-01 "$here/../../examples/$name.rig.yaml" -o "$work/$name.html"
    count=$((count + 1))
done
# Long words and a question; a name without a blank in it.
{
    echo 'rigtally: 1'
    printf 'name: "'
    head -c 400 /dev/zero | tr '\0' 'W'
    printf '"\nparts:\n  pump: { is: pump, voltage: 12 V, note: "'
    head -c 400 /dev/zero | tr '\0' 'M'
    printf '" }\n'
} >"$work/long.rig.yaml"
"$program" sheet --today 2026-06-01 "$work/long.rig.yaml" -o "$work/long.html"
count=$((count + 1))
if timeout 120 node "$work/look.js" "$browser" "$work"/*.html; then
    echo "access: $count sheets without a barrier"
else
    echo "access: there are barriers, or the browser did not run"
    exit 1
fi
