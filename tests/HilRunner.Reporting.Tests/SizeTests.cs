using System.Diagnostics;
using System.Text;
using HilRunner.Testing;

namespace HilRunner.Reporting.Tests;

/// <summary>Reports stay light: what is measured here stands in the room's README.</summary>
[Timing("seconds until a page is written, open and redrawn")]
internal sealed class SizeTests
{
    [Test]
    public void The_script_and_the_style_are_small()
    {
        string html = Pages.All["nothing"]();
        Assert.That(Encoding.UTF8.GetByteCount(html), Is.LessThan(60_000), "script, style and an empty report together");
    }

    [Test]
    public void A_run_of_two_minutes_takes_a_quarter_megabyte() =>
        Assert.That(Encoding.UTF8.GetByteCount(Pages.Html(Pages.Fail)), Is.LessThan(260_000));

    [Test]
    public async Task Eight_hours_at_50_Hz_stay_under_6_MB_are_written_in_seconds_and_answer_at_once()
    {
        StoredRun run = new InventedRun(3) { Trials = 2_880, Flapping = true }.Build();
        var watch = Stopwatch.StartNew();
        string html = Pages.Html(run);
        TimeSpan written = watch.Elapsed;
        int bytes = Encoding.UTF8.GetByteCount(html);
        await using Browser browser = await Browser.StartAsync();
        watch.Restart();
        await using OpenPage open = await browser.OpenTextAsync("huge", html);
        await open.Page.Locator("html.live").WaitForAsync();
        TimeSpan opened = watch.Elapsed;
        // The longest of 40 redraws while zooming all the way in about one place, each awaited.
        double worst = await open.Page.EvaluateAsync<double>("""
            async () => {
              const plot = document.getElementById('plot'), frame = () => new Promise(done => requestAnimationFrame(done));
              let worst = 0;
              plot.focus();
              for (let i = 0; i < 40; i++) {
                const begin = performance.now();
                plot.dispatchEvent(new KeyboardEvent('keydown', { key: '+' }));
                await frame(); await frame();
                worst = Math.max(worst, performance.now() - begin);
              }
              return worst;
            }
            """);
        TestContext.Out.WriteLine($"{bytes / 1e6:0.00} MB, written in {written.TotalSeconds:0.00} s, live after {opened.TotalSeconds:0.00} s, slowest redraw {worst:0} ms");
        string readout = await ReadAt(open, run, 4_321.0);
        Assert.Multiple(() =>
        {
            Assert.That(bytes, Is.LessThan(6_000_000));
            Assert.That(written, Is.LessThan(TimeSpan.FromSeconds(8)));
            Assert.That(opened, Is.LessThan(TimeSpan.FromSeconds(5)));
            Assert.That(worst, Is.LessThan(250));
            Assert.That(open.Complaints, Is.Empty);
            Assert.That(readout, Does.StartWith("1:12:01"));
        });
    }

    /// <summary>Zooms to a place by dragging nothing: through the trial that holds it; the reading must span the true sample.</summary>
    private static async Task<string> ReadAt(OpenPage open, StoredRun run, double second)
    {
        int trial = run.Score.Outputs[0].Trials.ToList().FindIndex(t => t.StartNs <= second * 1e9 && second * 1e9 < t.EndNs);
        await open.Page.EvaluateAsync("trial => { location.hash = 'trial-0-' + trial; }", trial);
        await open.Page.EvaluateAsync("trial => { const p = document.getElementById('plot'); p.focus(); p.dispatchEvent(new KeyboardEvent('keydown', { key: '0' })); }", trial);
        var box = (await open.Page.Locator("#plot").BoundingBoxAsync())!;
        double end = run.End.Ns / 1e9, plot = box.Width - 105;
        for (int i = 0; i < 12; i++)
        {
            double[] window = await open.Page.EvaluateAsync<double[]>("[+document.getElementById('plot').dataset.from / 1e9, +document.getElementById('plot').dataset.to / 1e9]");
            double x = 104 + (second - window[0]) / (window[1] - window[0]) * plot;
            await open.Page.EvaluateAsync("x => { const p = document.getElementById('plot'), b = p.getBoundingClientRect(); p.dispatchEvent(new WheelEvent('wheel', { deltaY: -300, clientX: b.left + x, clientY: b.top + 20, cancelable: true })); }", x);
        }
        double[] last = await open.Page.EvaluateAsync<double[]>("[+document.getElementById('plot').dataset.from / 1e9, +document.getElementById('plot').dataset.to / 1e9]");
        Assert.That(last[1] - last[0], Is.EqualTo(end * Math.Exp(-0.75 * 12)).Within(0.1));
        double at = 104 + (second - last[0]) / (last[1] - last[0]) * plot;
        await open.Page.EvaluateAsync("x => { const p = document.getElementById('plot'), b = p.getBoundingClientRect(); p.dispatchEvent(new PointerEvent('pointermove', { clientX: b.left + x, clientY: b.top + 20 })); }", at);
        string text = await open.Page.Locator("#readout").InnerTextAsync();
        var match = System.Text.RegularExpressions.Regex.Match(text, @"az (−?[\d.]+)(?: g)? … (−?[\d.]+) g");
        Assert.That(match.Success, Is.True, text);
        double Number(int group) => double.Parse(match.Groups[group].Value.Replace('−', '-'), System.Globalization.CultureInfo.InvariantCulture);
        // Half a step of the packing, and the third decimal of the reading.
        Assert.That(run.Motion["az"][(int)(second * 50)], Is.InRange(Number(1) - 0.0006, Number(2) + 0.0006), text);
        return text;
    }
}
