using System.Collections.Concurrent;
using HilRunner.Testing;
using Microsoft.Playwright;

namespace HilRunner.Reporting.Tests;

/// <summary>A real browser, without network, on a page from the file system.</summary>
internal sealed class Browser : IAsyncDisposable
{
    private static readonly string[] Arguments =
    [
        "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ];

    private readonly IPlaywright _playwright;
    private readonly IBrowser _browser;
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("reports");
    private readonly Dictionary<string, string> _files = [];
    private readonly Dictionary<bool, ConcurrentStack<IPage>> _idle = new() { [true] = new(), [false] = new() };

    private Browser(IPlaywright playwright, IBrowser browser) => (_playwright, _browser) = (playwright, browser);

    public static async Task<Browser> StartAsync()
    {
        IPlaywright playwright = await Playwright.CreateAsync();
        const string engine = "/usr/bin/chromium-headless-shell";
        return new(playwright, await playwright.Chromium.LaunchAsync(new() { ExecutablePath = engine, Args = Arguments }));
    }

    public async Task<OpenPage> OpenAsync(string name, int width = 1000, ColorScheme scheme = ColorScheme.Light, bool scripts = true)
    {
        if (!_files.TryGetValue(name, out string? path))
        {
            path = _files[name] = _folder.File(name.Replace(' ', '-') + ".html");
            await File.WriteAllTextAsync(path, Pages.All[name]());
        }
        return await OpenFileAsync(path, width, scheme, scripts);
    }

    public async Task<OpenPage> OpenTextAsync(string name, string html, int width = 1000, ColorScheme scheme = ColorScheme.Light)
    {
        string path = _folder.File(name + ".html");
        await File.WriteAllTextAsync(path, html);
        return await OpenFileAsync(path, width, scheme, scripts: true);
    }

    /// <summary>
    /// A tab that was used before is loaded anew: a tab of its own for each page costs a process each time. What it showed
    /// before is gone by then; whether scripts run is a tab's for good.
    /// </summary>
    private async Task<OpenPage> OpenFileAsync(string path, int width, ColorScheme scheme, bool scripts)
    {
        if (!_idle[scripts].TryPop(out IPage? page))
        {
            page = await (await _browser.NewContextAsync(new() { Offline = true, JavaScriptEnabled = scripts })).NewPageAsync();
        }
        await page.SetViewportSizeAsync(width, 900);
        await page.EmulateMediaAsync(new() { ColorScheme = scheme });
        var open = new OpenPage(page, _idle[scripts]);
        await page.GotoAsync(new Uri(path).AbsoluteUri);
        return open;
    }

    public async ValueTask DisposeAsync()
    {
        await _browser.DisposeAsync();
        _playwright.Dispose();
        _folder.Dispose();
    }
}

/// <summary>One page with what it said and asked for since it was opened.</summary>
internal sealed class OpenPage : IAsyncDisposable
{
    private readonly ConcurrentStack<IPage> _idle;

    /// <param name="idle">Where the tab goes when it is closed.</param>
    public OpenPage(IPage page, ConcurrentStack<IPage> idle)
    {
        (Page, _idle) = (page, idle);
        page.Console += OnConsole;
        page.PageError += OnError;
        page.Dialog += OnDialog;
        page.Request += OnRequest;
    }

    public IPage Page { get; }
    public List<string> Complaints { get; } = [];
    public List<string> Requests { get; } = [];

    public async Task<(double From, double To)> WindowAsync()
    {
        double[] window = await Page.EvaluateAsync<double[]>("[+document.getElementById('plot').dataset.from, +document.getElementById('plot').dataset.to]");
        return (window[0], window[1]);
    }

    public async ValueTask DisposeAsync()
    {
        Page.Console -= OnConsole;
        Page.PageError -= OnError;
        Page.Dialog -= OnDialog;
        Page.Request -= OnRequest;
        await Page.GotoAsync("about:blank");
        _idle.Push(Page);
    }

    private void OnConsole(object? sender, IConsoleMessage message)
    {
        if (message.Type is "error" or "warning") { Complaints.Add(message.Text); }
    }

    private void OnError(object? sender, string error) => Complaints.Add(error);

    private void OnDialog(object? sender, IDialog dialog)
    {
        Complaints.Add($"a dialog opened: {dialog.Message}");
        _ = dialog.DismissAsync();
    }

    private void OnRequest(object? sender, IRequest request) => Requests.Add(request.Url);
}
