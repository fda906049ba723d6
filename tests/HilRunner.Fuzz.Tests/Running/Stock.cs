using System.Diagnostics;
using System.Globalization;
using HilRunner.Testing;

namespace HilRunner.Fuzz.Tests.Running;

/// <summary>Good files to begin with: those of the checkout, and what the tool makes with its virtual device.</summary>
/// <param name="Folder">Where the made ones are.</param>
internal sealed record Stock(string Folder)
{
    private const int Rows = 350;
    private static readonly TimeSpan s_limit = TimeSpan.FromMinutes(2);

    public static string Hil { get; } = Path.Combine(AppContext.BaseDirectory, "hil");

    /// <summary>A batch of two runs.</summary>
    public string Batch => Single("runs");

    /// <summary>Its first run.</summary>
    public string Run => Directory.GetDirectories(Batch).Order(StringComparer.Ordinal).First();

    public string History => File("runs/history.db");

    public string Sweep => Single("sweeps");

    public string Case => Single("cases");

    public string Rig => File("rig.yaml");

    public string File(string name) => Path.Combine(Folder, name);

    public byte[] Bytes(string name) => System.IO.File.ReadAllBytes(File(name));

    public static string Checkout(string name) => Path.Combine(TestPaths.Root, name);

    /// <summary>Files of the checkout that match.</summary>
    public static IEnumerable<byte[]> Matching(string folder, string pattern, Func<string, bool> holds) =>
        Directory.EnumerateFiles(Checkout(folder), pattern, SearchOption.AllDirectories).Order(StringComparer.Ordinal)
            .Where(f => holds(System.IO.File.ReadAllText(f))).Select(System.IO.File.ReadAllBytes);

    /// <summary>The beginning of an open recording; nothing where they are absent.</summary>
    public static IEnumerable<byte[]> OpenData(string name, int lines)
    {
        string folder = Environment.GetEnvironmentVariable("HIL_OPEN_DATA")
            ?? Checkout("../shared/data"), path = Path.Combine(folder, name);
        if (!System.IO.File.Exists(path)) { yield break; }
        yield return System.Text.Encoding.UTF8.GetBytes(
            string.Concat(System.IO.File.ReadLines(path).Take(lines).Select(l => l + "\n")));
    }

    /// <summary>Plays a suite, a sweep and a complaint, each with one call of the tool.</summary>
    public static Stock Make(string folder)
    {
        var stock = new Stock(folder);
        string[] rows = System.IO.File.ReadAllLines(Checkout("scenarios/parcel/recordings/drops.csv"));
        string[] used = [.. rows.Skip(902).Take(Rows)];
        Write("short.csv", [rows[0], .. used]);
        Write("short.labels.csv", ["start_s,end_s,class", "0,2.5,carried", "2.5,3.4,resting"]);
        Write("short.yaml", ["rate: 100 Hz", "range: 8 g", "source: made up", "mounting: top face", "invented: true"]);
        Write("one.yaml",
            ["scenario: one", "stimulus:", "  - play: short.csv", "within: 4 s", "limits:",
                "  - {measure: missed, at_most: 5}", "  - {measure: reaction, class: carried, statistic: max, at_most: 3 s}"]);
        Write("suite.yaml",
            ["suite: two", "scenarios: [one.yaml]", "repeats: 2",
                "limits:", "  - {measure: recognised, at_least: 0.01, confidence: 0.5}"]);
        Write("log.csv",
            ["t_s,ax_g,ay_g,az_g,label",
                .. used.Select((r, i) =>
                    string.Create(
                        CultureInfo.InvariantCulture, $"{i / 100m:0.00},{r},{(i < Rows / 2 ? "resting" : "carried")}"))]);
        Write("plan.yaml",
            ["sweep: short", "motion: {tone: 25 Hz, peak: 40 mg to 100 mg by 20 mg, axis: z}", "dwell: 2 s", "repeats: 4"]);
        foreach (string rig in (string[])["virtual", "virtual-pump"])
        {
            string text = System.IO.File.ReadAllText(Checkout($"rigs/{rig}.yaml"))
                .Replace("../scenarios", Checkout("scenarios"), StringComparison.Ordinal);
            System.IO.File.WriteAllText(stock.File(rig == "virtual" ? "rig.yaml" : "pump.yaml"),
                text.Replace("quiet: 100 ms", "quiet: 20 ms", StringComparison.Ordinal));
        }
        Call("run", stock.File("suite.yaml"), "--rig", stock.Rig, "--out", stock.File("runs"), "--quiet");
        Call("sweep", stock.File("plan.yaml"), "--rig", stock.File("pump.yaml"), "--out", stock.File("sweeps"));
        Call("reproduce", stock.File("log.csv"), "--rig", stock.Rig,
            "--at", "3 s", "--expected", "carried", "--reported", "resting", "--out", stock.File("cases"));
        return stock;

        void Write(string name, IEnumerable<string> lines) =>
            System.IO.File.WriteAllText(stock.File(name), string.Concat(lines.Select(l => l + "\n")));
    }

    private static void Call(params string[] arguments)
    {
        var start = new ProcessStartInfo(Hil, arguments) { RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["NO_COLOR"] = "1";
        using var process = Process.Start(start)!;
        var output = process.StandardOutput.ReadToEndAsync();
        string errors = process.StandardError.ReadToEnd();
        if (!process.WaitForExit(s_limit)) { process.Kill(entireProcessTree: true); }
        // 0, 1 and 2 are verdicts.
        if (process.ExitCode > 2)
        {
            throw new InvalidOperationException(
                $"hil {string.Join(' ', arguments)} ended with {process.ExitCode}: {errors}{output.Result}");
        }
    }

    private string Single(string name) => Directory.GetDirectories(File(name)).Single();
}
