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

    private Browser(IPlaywright playwright, IBrowser browser) => (_playwright, _browser) = (playwright, browser);

    public static async Task<Browser> StartAsync()
    {
        IPlaywright playwright = await Playwright.CreateAsync();
        return new(playwright, await playwright.Chromium.LaunchAsync(new() { ExecutablePath = "/usr/bin/chromium", Args = Arguments }));
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

    private async Task<OpenPage> OpenFileAsync(string path, int width, ColorScheme scheme, bool scripts)
    {
        IBrowserContext context = await _browser.NewContextAsync(new() { Offline = true, ColorScheme = scheme, JavaScriptEnabled = scripts, ViewportSize = new() { Width = width, Height = 900 } });
        IPage page = await context.NewPageAsync();
        var open = new OpenPage(context, page);
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
    private readonly IBrowserContext _context;

    public OpenPage(IBrowserContext context, IPage page)
    {
        _context = context;
        Page = page;
        page.Console += (_, message) => { if (message.Type is "error" or "warning") { Complaints.Add(message.Text); } };
        page.PageError += (_, error) => Complaints.Add(error);
        page.Dialog += (_, dialog) => Complaints.Add($"a dialog opened: {dialog.Message}");
        page.Request += (_, request) => Requests.Add(request.Url);
    }

    public IPage Page { get; }
    public List<string> Complaints { get; } = [];
    public List<string> Requests { get; } = [];

    public async Task<(double From, double To)> WindowAsync()
    {
        double[] window = await Page.EvaluateAsync<double[]>("[+document.getElementById('plot').dataset.from, +document.getElementById('plot').dataset.to]");
        return (window[0], window[1]);
    }

    public async ValueTask DisposeAsync() => await _context.DisposeAsync();
}
