using System.Diagnostics;
using HilRunner.Testing;
using Microsoft.Playwright;

namespace HilRunner.Reporting.Tests;

/// <summary>Every state of the reports in a real browser: quiet, self-contained, accessible, printable, readable without scripts.</summary>
internal sealed class PageTests
{
    private Browser _browser = null!;
    private static IEnumerable<string> Names => Pages.All.Keys;

    [OneTimeSetUp]
    public async Task Start() => _browser = await Browser.StartAsync();

    [OneTimeTearDown]
    public async Task Stop() => await _browser.DisposeAsync();

    [TestCaseSource(nameof(Names))]
    public async Task Opens_without_a_complaint_a_request_or_a_page_wider_than_the_screen(string name)
    {
        foreach (int width in (int[])[360, 1000, 1600])
        {
            await using OpenPage open = await _browser.OpenAsync(name, width);
            await PageChecks.AssertSoundAsync(open, width, "pass|fail|inconclusive|error|not judged|accepted|not accepted|open|worse|better|no change shown|too few trials|firmware fault|under way|moved|none shown|too few");
        }
    }

    [Test]
    public async Task Has_no_accessibility_violation([Values("fail", "exact", "starved", "rig at fault", "no decisions", "nothing", "hostile", "suite", "suite of none", "varied suite", "varied suite, a map", "comparison", "evidence", "case", "case under way", "sweep", "sweep, a map")] string name, [Values(ColorScheme.Light, ColorScheme.Dark)] ColorScheme scheme, [Values(360, 1600)] int width)
    {
        await using OpenPage open = await _browser.OpenAsync(name, width, scheme);
        await PageChecks.AssertAccessibleAsync(open, leastRules: 15);
    }

    [Test]
    public async Task Shows_a_still_picture_where_scripts_are_off()
    {
        await using OpenPage open = await _browser.OpenAsync("rig at fault", scripts: false);
        Assert.Multiple(async () =>
        {
            Assert.That(await open.Page.Locator("svg.still").IsVisibleAsync(), Is.True);
            Assert.That(await open.Page.Locator("#axis").IsVisibleAsync(), Is.False);
            Assert.That(await open.Page.Locator("svg.still rect[fill='#e69f00']").CountAsync(), Is.GreaterThan(5), "the resting intervals");
            Assert.That(await open.Page.Locator("svg.still path.trouble").CountAsync(), Is.EqualTo(2), "the two incidents that have a place");
        });
    }

    [Test]
    public async Task Prints_the_verdict_on_the_first_page_and_the_reasons_of_absent_figures()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        using var folder = TestPaths.NewFolder();
        string pdf = folder.File("report.pdf");
        await open.Page.PdfAsync(new() { Path = pdf, PreferCSSPageSize = true });
        string first = Run("pdftotext", "-f", "1", "-l", "1", "-layout", pdf, "-");
        string all = Run("pdftotext", pdf, "-").ReplaceLineEndings(" ");
        Assert.Multiple(() =>
        {
            Assert.That(first, Does.Contain("Fail").And.Contain("conveyed recognised in 3 of 4, needs 4").And.Contain("This build should not go on"));
            Assert.That(first, Does.Contain("reference").And.Contain("observed"), "the still picture of the axis");
            Assert.That(all, Does.Contain("(missed:").And.Contain("endless"));
            Assert.That(all, Does.Contain("Distribution of lateness"), "folded parts are printed");
        });
    }

    private static string Run(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, program);
        return text;
    }
}
