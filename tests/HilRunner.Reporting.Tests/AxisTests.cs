using Microsoft.Playwright;

namespace HilRunner.Reporting.Tests;

/// <summary>The live time axis under hand: zoom, reading, and the way between a trial's row and its place.</summary>
internal sealed class AxisTests
{
    private const double End = 120e9;
    private Browser _browser = null!;

    [OneTimeSetUp]
    public async Task Start() => _browser = await Browser.StartAsync();

    [OneTimeTearDown]
    public async Task Stop() => await _browser.DisposeAsync();

    [Test]
    public async Task Buttons_and_keys_zoom_and_move()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, End)));
        await open.Page.GetByRole(AriaRole.Button, new() { Name = "Zoom in" }).ClickAsync();
        Assert.That(await open.WindowAsync(), Is.EqualTo((30e9, 90e9)));
        await open.Page.GetByRole(AriaRole.Button, new() { Name = "Later" }).ClickAsync();
        Assert.That(await open.WindowAsync(), Is.EqualTo((60e9, 120e9)));
        await open.Page.Locator("#plot").FocusAsync();
        await open.Page.Keyboard.PressAsync("Home");
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, 60e9)));
        await open.Page.Keyboard.PressAsync("-");
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, End)));
        await open.Page.Keyboard.PressAsync("n");
        Assert.That((await open.WindowAsync()).To, Is.LessThan(20e9), "the first trial");
        await open.Page.Keyboard.PressAsync("0");
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, End)));
    }

    [Test]
    public async Task The_wheel_scrolls_the_page_until_the_axis_was_clicked_and_then_zooms_about_the_pointer()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var (x, y, _) = await Place(open, 0.5);
        await open.Page.Mouse.MoveAsync(x, y);
        await open.Page.Mouse.WheelAsync(0, -200);
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, End)), "not clicked yet");
        (x, y, _) = await Place(open, 0.5);
        await open.Page.Mouse.ClickAsync(x, y);
        await open.Page.Mouse.WheelAsync(0, -200);
        await open.Page.WaitForFunctionAsync("+document.getElementById('plot').dataset.from > 0");
        var (from, to) = await open.WindowAsync();
        Assert.That(to - from, Is.EqualTo(End * Math.Exp(-0.5)).Within(End * 0.001));
        Assert.That((from + to) / 2, Is.EqualTo(60e9).Within(0.5e9));
    }

    [Test]
    public async Task Dragging_zooms_into_the_stretch_and_a_double_click_shows_the_whole_run()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var (a, y, _) = await Place(open, 0.25);
        var (b, _, _) = await Place(open, 0.5);
        await open.Page.Mouse.MoveAsync(a, y);
        await open.Page.Mouse.DownAsync();
        await open.Page.Mouse.MoveAsync((a + b) / 2, y);
        await open.Page.Mouse.MoveAsync(b, y);
        await open.Page.Mouse.UpAsync();
        var (from, to) = await open.WindowAsync();
        Assert.That(from, Is.EqualTo(30e9).Within(0.2e9));
        Assert.That(to, Is.EqualTo(60e9).Within(0.2e9));
        await open.Page.Mouse.DblClickAsync(b, y);
        Assert.That(await open.WindowAsync(), Is.EqualTo((0.0, End)));
    }

    [Test]
    public async Task Pointing_reads_time_classes_and_the_very_sample()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var (x, y, t) = await Place(open, 15.0 / 120);
        await open.Page.Mouse.MoveAsync(x, y);
        string text = await open.Page.Locator("#readout").InnerTextAsync();
        int sample = (int)Math.Floor(t / 20e6);
        string Value(string channel) => $"{channel} {Pages.Fail.Motion[channel][sample]:0.000} g".Replace('-', '−');
        Assert.That(text, Does.Contain("reference carried").And.Contain("observed carried").And.Contain(Value("ax")).And.Contain(Value("ay")).And.Contain(Value("az")));
        Assert.That(text, Does.Match(@"^1[45]\.\d+ s"));
    }

    [Test]
    public async Task Pointing_at_a_difference_says_so()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var missed = Pages.Fail.Score.Outputs[0].Trials.First(t => t.Missed && !t.IsEvent);
        var (x, y, _) = await Place(open, (missed.StartNs + 5e9) / End);
        await open.Page.Mouse.MoveAsync(x, y);
        Assert.That(await open.Page.Locator("#readout").InnerTextAsync(), Does.Contain($"reference {missed.Class}").And.Contain("(differs)").And.Contain("missed"));
    }

    [Test]
    public async Task A_row_leads_to_its_place_and_a_place_to_its_row()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var trial = Pages.Fail.Score.Outputs[0].Trials[6];
        await open.Page.Locator("#trial-0-6 td").First.ClickAsync();
        var (from, to) = await open.WindowAsync();
        double margin = (trial.EndNs - trial.StartNs) * 0.25;
        Assert.That(from, Is.EqualTo(trial.StartNs - margin).Within(1));
        Assert.That(to, Is.EqualTo(trial.EndNs + margin).Within(1));
        Assert.That(await open.Page.Locator("tr.selected").GetAttributeAsync("id"), Is.EqualTo("trial-0-6"));
        await open.Page.Keyboard.PressAsync("0");
        var (x, y, _) = await Place(open, 15.0 / 120);
        await open.Page.Mouse.ClickAsync(x, y);
        Assert.That(await open.Page.Locator("tr.selected").GetAttributeAsync("id"), Is.EqualTo("trial-0-1"));
        await open.Page.Locator("#readout a").ClickAsync();
        Assert.That(await open.Page.EvaluateAsync<string>("document.activeElement.closest('tr').id"), Is.EqualTo("trial-0-1"));
    }

    [Test]
    public async Task A_folded_row_opens_when_its_trial_is_clicked()
    {
        await using OpenPage open = await _browser.OpenAsync("many trials");
        string id = await open.Page.EvaluateAsync<string>("document.querySelector('details table.trials tbody tr:last-child').id");
        await open.Page.EvaluateAsync("id => { location.hash = id; }", id);
        await open.Page.Locator($"#{id}").WaitForAsync(new() { State = WaitForSelectorState.Visible });
        Assert.That(await open.Page.Locator("tr.selected").GetAttributeAsync("id"), Is.EqualTo(id));
    }

    [Test]
    public async Task Draws_each_class_in_its_colour_and_a_difference_in_ink()
    {
        await using OpenPage open = await _browser.OpenAsync("fail");
        var missed = Pages.Fail.Score.Outputs[0].Trials.First(t => t.Missed && !t.IsEvent);
        // A strip shows its hue at a place without a letter on it: near its lower edge.
        int[] colours = await open.Page.EvaluateAsync<int[]>("""
            async args => {
              await new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)));
              const canvas = document.getElementById('lanes'), c = canvas.getContext('2d'), gutter = 104, plot = canvas.clientWidth - gutter - 1;
              const found = [];
              for (const [share, hue] of args) {
                const x = Math.round(gutter + share * plot), column = c.getImageData(x, 0, 1, canvas.height).data;
                let rows = 0;
                for (let i = 0; i < column.length; i += 4) { if (column[i] === hue[0] && column[i + 1] === hue[1] && column[i + 2] === hue[2] && column[i + 3] === 255) { rows++; } }
                found.push(rows);
              }
              return found;
            }
            """, new object[] { new object[] { 0.045, new[] { 0xe6, 0x9f, 0x00 } }, new object[] { 0.13, new[] { 0x56, 0xb4, 0xe9 } }, new object[] { (missed.StartNs + 8e9) / End, new[] { 0x00, 0x9e, 0x73 } } });
        Assert.Multiple(() =>
        {
            Assert.That(colours[0], Is.GreaterThan(30), "resting: reference and observed");
            Assert.That(colours[1], Is.GreaterThan(30), "carried: reference and observed");
            Assert.That(colours[2], Is.InRange(15, 30), "conveyed: the reference only");
        });
    }

    /// <summary>Where a share of the whole run lies on the screen, in the middle of the first lane, and its exact time there.</summary>
    private static async Task<(float X, float Y, double TimeNs)> Place(OpenPage open, double share)
    {
        await open.Page.Locator("#plot").ScrollIntoViewIfNeededAsync();
        var box = (await open.Page.Locator("#plot").BoundingBoxAsync())!;
        double gutter = 104, plot = box.Width - gutter - 1;
        float x = (float)Math.Round(box.X + gutter + share * plot);
        return (x, box.Y + 30, (x - box.X - gutter) / plot * End);
    }
}
