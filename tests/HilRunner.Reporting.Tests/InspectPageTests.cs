using System.Diagnostics;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Inspection;
using HilRunner.Inspection.Reading;
using HilRunner.Testing;
using Microsoft.Playwright;

namespace HilRunner.Reporting.Tests;

/// <summary>The page of inspected recordings in its states: none, one sample, fit, everything wrong, many, hostile.</summary>
internal sealed class InspectPageTests
{
    private static readonly Dictionary<string, Func<IReadOnlyList<RecordingInspection>>> s_states = new()
    {
        ["none"] = () => [],
        ["one sample"] = () => [Inspector.Inspect(Made(1))],
        ["fit"] = () => [Inspector.Inspect(Made(3000))],
        ["bad"] = () => [Bad()],
        ["many"] = () => [.. Enumerable.Range(0, 12).Select(i => Inspector.Inspect(Made(1500) with { Name = $"morning {i}" })), Bad()],
        ["hostile"] = () => [Hostile()],
    };

    private Browser _browser = null!;
    private static IEnumerable<string> Names => s_states.Keys;

    [OneTimeSetUp]
    public async Task Start() => _browser = await Browser.StartAsync();

    [OneTimeTearDown]
    public async Task Stop() => await _browser.DisposeAsync();

    [TestCaseSource(nameof(Names))]
    public async Task Opens_without_a_complaint_a_request_or_a_page_wider_than_the_screen(string name)
    {
        string html = Html(s_states[name]());
        foreach (int width in (int[])[360, 1000, 1600])
        {
            await using OpenPage open = await _browser.OpenTextAsync(name.Replace(' ', '-'), html, width);
            await PageChecks.AssertSoundAsync(open, width, "fit|usable with care|unfit|no recording");
        }
    }

    [Test]
    public async Task Has_no_accessibility_violation([Values("none", "one sample", "bad", "many", "hostile")] string name, [Values(ColorScheme.Light, ColorScheme.Dark)] ColorScheme scheme)
    {
        await using OpenPage open = await _browser.OpenTextAsync(name.Replace(' ', '-'), Html(s_states[name]()), 360, scheme);
        await PageChecks.AssertAccessibleAsync(open, leastRules: 8);
    }

    [Test]
    public async Task Draws_what_was_found_where_it_lies()
    {
        await using OpenPage open = await _browser.OpenTextAsync("bad", Html([Bad()]));
        float lane = await open.Page.Locator("svg.still rect.lane").First.EvaluateAsync<float>("r => r.getBBox().width");
        float gap = await open.Page.Locator("svg.still rect.found:not(.care)").First.EvaluateAsync<float>("r => r.getBBox().x");
        Assert.Multiple(async () =>
        {
            Assert.That(await open.Page.Locator("svg.still path.signal").CountAsync(), Is.EqualTo(3), "a line for every channel");
            Assert.That(await open.Page.Locator("h3").AllInnerTextsAsync(), Is.EqualTo(new[] { "|a| at rest", "Steps between times", "Spectrum per class" }));
            Assert.That(gap, Is.EqualTo(96 + lane / 2).Within(0.02 * lane), "the gap lies in the middle");
            Assert.That(await open.Page.Locator("tr.bad").CountAsync(), Is.GreaterThan(1));
        });
    }

    [Test]
    public async Task Prints_the_verdict_and_what_to_do_on_the_first_page()
    {
        await using OpenPage open = await _browser.OpenTextAsync("bad", Html([Bad()]));
        using var folder = TestPaths.NewFolder();
        string pdf = folder.File("inspection.pdf");
        await open.Page.PdfAsync(new() { Path = pdf, PreferCSSPageSize = true });
        using var process = Process.Start(new ProcessStartInfo("pdftotext", ["-f", "1", "-l", "1", "-layout", pdf, "-"]) { RedirectStandardOutput = true })!;
        string first = await process.StandardOutput.ReadToEndAsync();
        await process.WaitForExitAsync();
        Assert.That(string.Join(' ', first.Split((char[])[' ', '\n'], StringSplitOptions.RemoveEmptyEntries)), Does.Contain("Unfit").And.Contain("must not be used as it is").And.Contain("What to do next").And.Contain("cut the recording at each gap"));
    }

    private static string Html(IReadOnlyList<RecordingInspection> inspections)
    {
        using var text = new StringWriter();
        InspectReport.Write(inspections, text);
        return text.ToString();
    }

    /// <summary>Rest and a tone in turns of ten seconds at 50 Hz, with times and labels.</summary>
    private static InspectedRecording Made(int count)
    {
        var random = new Random(3);
        double[][] channels = [new double[count], new double[count], new double[count]];
        for (int n = 0; n < count; n++)
        {
            double tone = n / 500 % 2 == 0 ? 0 : 0.2 * Math.Sin(2 * Math.PI * 9 * n / 50);
            channels[0][n] = 0.3 * tone + 0.004 * random.NextDouble();
            channels[1][n] = 0.004 * random.NextDouble();
            channels[2][n] = 1 + tone + 0.004 * random.NextDouble();
        }
        return new()
        {
            Name = "morning", Path = "recordings/morning.csv", ChannelNames = ["ax", "ay", "az"],
                Channels = [.. channels.Select(c => new Series<double>(c))], StatedRate = new SampleRate(50_000),
            TimesNs = new([.. Enumerable.Range(0, count).Select(n => n * 20_000_000L)]),
            Labels = [.. Enumerable.Range(0, count / 500).Select(i => new InspectedLabel(i * 10_000_000_000L, (i + 1) * 10_000_000_000L, i % 2 == 0 ? "resting" : "conveyed", i + 2))],
            Info = new RecordingInfo { Invented = true, Mounting = "on the lid" },
        };
    }

    /// <summary>A gap in the middle, a wrong scale, labels that overlap.</summary>
    private static RecordingInspection Bad()
    {
        var made = Made(3000);
        long[] times = [.. made.TimesNs!];
        for (int n = 1500; n < times.Length; n++) { times[n] += 400_000_000; }
        double[] z = [.. made.Channels[2].Select(v => v + 0.15)];
        return Inspector.Inspect(made with { TimesNs = times, Channels = [made.Channels[0], made.Channels[1], z], Labels = [.. made.Labels, new(5_000_000_000, 15_000_000_000, "carried", 9)] });
    }

    private static RecordingInspection Hostile()
    {
        var made = Made(3000);
        return Inspector.Inspect(made with
        {
            Name = Pages.Hostile, Path = Pages.Hostile,
            Labels = [.. made.Labels.Select((l, i) => l with { Class = Pages.Hostile + (i % 2), StartNs = l.StartNs - 3_000_000_000 })],
            Info = new() { Invented = true, Mounting = Pages.Hostile, Source = Pages.Hostile },
        }, new() { Reference = made with { Name = Pages.Hostile, Channels = [made.Channels[2], made.Channels[0], made.Channels[1]] } });
    }
}
