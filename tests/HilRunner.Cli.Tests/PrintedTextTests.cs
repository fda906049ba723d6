using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// What devices, files and people say never steers a terminal: the bytes that reach it, of every command that shows such text.
/// </summary>
[Parallelizable, Platform(Include = "Linux")]
public partial class PrintedTextTests
{
    /// <summary>
    /// Sets a title, clears the screen by an eight-bit sequence, turns the order of writing, hides, and is markup.
    /// </summary>
    private const string Evil = "\e]0;evil\a\u009b2J\u202e\u200b[red]";
    private const string Shown = @"\u001b]0;evil\u0007\u009b2J\u202e\u200b[red]";
    private const string InYaml = @"\e]0;evil\a\u009b2J\u202e\u200b[red]";

    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    /// <summary>A device that says it in its identity, its classes and outside any pattern.</summary>
    [Test]
    public void WhatADeviceSays()
    {
        string rig = HostileRig();
        Printed(Hil.Run("check", rig), 0, $"product {Shown}");
        Printed(Hil.Run("listen", "--rig", rig, "--for", "700ms"), 0, $"decision handling {Shown}");
        Printed(Hil.Run("record", "--rig", rig, "--for", "1s", "--out", _folder.File("rec")), 3, "");
        Printed(Hil.Run("run", Scenario(), "--rig", rig, "--speed", "real", "--out", _folder.File("real")), 2, $"night {Shown}");
        Printed(Hil.Run("check", rig, "--link", $"process:/no/such{Evil}"), 3, Shown);
    }

    /// <summary>The live line and the table of a run on a terminal, with a device and a scenario that say it.</summary>
    [Test]
    public void OnATerminal()
    {
        using var hil =
            new HilOnTerminal("run", Scenario(), "--rig", HostileRig(), "--speed", "real", "--out", _folder.File("real"));
        hil.End();
        // Without what the tool itself draws.
        string rest = Drawn().Replace(hil.Shown, "").Replace("\r", "", StringComparison.Ordinal);
        AssertPrintable(rest);
        Assert.That(rest, Does.Contain(@"1/1  night \u001b]0…").And.Contain(@"\u001b]0;evil\u0007"),
            "the live line, cut to the width, and the table");
    }

    /// <summary>Names of scenarios, builds and folders, in every command that looks at runs.</summary>
    [Test]
    public void WhatRunsAreCalled()
    {
        string runs = _folder.File($"runs{Evil}\nx");
        for (int i = 0; i < 2; i++)
        {
            Printed(Hil.Run("run", Scenario(), "--rig", "rigs/virtual.yaml", "--out", runs, "--build", $"b{i}{Evil}\nhil: pass"),
                0, $"night {Shown}");
        }
        string[] batches = [.. Directory.GetDirectories(runs).Order(StringComparer.Ordinal)];
        Printed(Hil.Run("history", "--runs", runs), 0, @"b0\u001b]0;evil");
        Printed(Hil.Run("history", "--runs", runs, "--flaky"), 0, "");
        Printed(Hil.Run("history", $"none{Evil}", "--runs", runs), 65, $"none{Shown}");
        Printed(Hil.Run("history", "prune", "--runs", runs, "--older-than", "0"), 0, "");
        Printed(Hil.Run("compare", batches[0], batches[1]), 2, "");
        Printed(Hil.Run("score", batches[0]), 0, "");
        Printed(Hil.Run("report", batches[0]), 0, @"[red]\u000ax/");
        AssertPrintable(File.ReadAllText(Path.Combine(batches[0], "summary.txt")));
        foreach (string[] arguments in (string[][])[["history", "--runs", runs, "--json"],
            ["compare", batches[0], batches[1], "--json"], ["score", batches[0], "--json"],
                ["history", "prune", "--runs", runs, "--older-than", "0", "--json"]])
        {
            var json = Hil.Run(arguments);
            AssertPrintable(json.Output);
            Assert.That(JsonDocument.Parse(json.Output).RootElement.ValueKind, Is.EqualTo(JsonValueKind.Object), json.Output);
        }
        var said = JsonDocument.Parse(Hil.Run("history", "--runs", runs, "--json").Output).RootElement.GetProperty("suites")[0];
        Assert.That(said.GetProperty("suite").GetString(), Is.EqualTo($"night {Evil}"));
        Assert.That(said.GetProperty("batches")[0].GetProperty("build").GetString(), Is.EqualTo($"b1{Evil}\nhil: pass"));
    }

    /// <summary>Names of files, columns and classes of logs and recordings.</summary>
    [Test]
    public void WhatLogsHold()
    {
        string log = _folder.File($"log{Evil}\nx.csv"), shelf = Directory.CreateDirectory(_folder.File("shelf")).FullName;
        var text = new StringBuilder($"t,ax,ay,az,class,{Evil}\n");
        for (int i = 0; i < 300; i++)
        {
            text.Append(
                System.Globalization.CultureInfo.InvariantCulture, $"{i / 100}.{i % 100:00},0.01,0.02,1.0{i % 7},re{Evil},1\n");
        }
        File.WriteAllText(log, text.ToString());
        Printed(Hil.Run("import", log), 0, $"log{Shown}");
        var json = Hil.Run("import", log, "--json");
        AssertPrintable(json.Output);
        Assert.That(
            JsonDocument.Parse(json.Output).RootElement.GetProperty("recordings")[0].GetProperty("labels")[0].GetProperty("class")
            .GetString(), Is.EqualTo($"re{Evil}"));
        Printed(Hil.Run("import", log, "--out", shelf, "--write"), 0, $"log{Shown}");
        string recording = Directory.GetFiles(shelf, "*.csv").Single(f => !f.EndsWith(".labels.csv", StringComparison.Ordinal));
        Assert.That(File.ReadAllText(Directory.GetFiles(shelf, "*.labels.csv").Single()),
            Does.Contain($"re{Evil}"), "a file that the tool reads again stays exact");
        Printed(Hil.Run("inspect", recording), null, Shown);
        Printed(Hil.Run("inspect", recording, log), 65, Shown);
        var inspected = Hil.Run("inspect", recording, "--json");
        AssertPrintable(inspected.Output);
        Assert.That(JsonDocument.Parse(inspected.Output).RootElement.GetProperty("recordings").GetArrayLength(), Is.EqualTo(1));
    }

    [Test]
    public void WhatIsTyped()
    {
        Printed(Hil.Run($"fl{Evil}y"), 64, $"fl{Shown}y");
        Printed(Hil.Run("run", "x", "--rig", "y", $"--{Evil}"), 64, Shown);
        Printed(Hil.Run("run", $"x{Evil}\nhil: pass", "--rig", "rigs/virtual.yaml"), 65, $"x{Shown}\\u000ahil: pass");
        Printed(Hil.Run("score", $"x{Evil}"), 65, Shown);
        Printed(Hil.Run("run", "x", "--rig", "rigs/virtual.yaml", "--shard", Evil), 64, Shown);
        Printed(Hil.Run("device", "--rig", $"x{Evil}"), 65, Shown);
    }

    private string Scenario()
    {
        File.WriteAllText(_folder.File("night.yaml"),
            $"scenario: \"night {InYaml}\"\nstimulus:\n  - synth: {{rest: 2 s, class: resting}}\n  - synth: {{tone: 16 Hz, peak: 0.3 g, axis: z, for: 3 s, class: conveyed}}\nlead: 1 s\nlimits: [{{measure: accuracy, at_least: 0.1}}]\n");
        return _folder.File("night.yaml");
    }

    private string HostileRig()
    {
        File.WriteAllText(_folder.File("device.sh"), """
            says() { printf 'id \033]0;evil\007\302\2332J\342\200\256\342\200\213[red] 1.0\nc 1 \033]0;evil\007\302\2332J\342\200\256\342\200\213[red]\n\033[2Jnoise\n'; }
            printf 'boot 1\n'
            says
            while read -r line; do says; done
            """);
        string rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace(@"(?<class>\w+)", "(?<class>.+)", StringComparison.Ordinal)
            .Replace(@"(?<product>\S+)", "(?<product>.+)", StringComparison.Ordinal);
        File.WriteAllLines(
            _folder.File("rig.yaml"), rig.Split('\n').Where(l => !l.StartsWith("before_each", StringComparison.Ordinal))
            .Select(l => l.StartsWith("  link:", StringComparison.Ordinal)
                ? $"  link: {{process: {{program: sh, args: [{_folder.File("device.sh")}]}}}}" : l));
        return _folder.File("rig.yaml");
    }

    /// <param name="code">Null: whatever it is.</param>
    /// <param name="shows">Among what is printed, however it is wrapped.</param>
    private static void Printed(HilResult result, int? code, string shows)
    {
        if (code is { } expected) { Assert.That(result.Code, Is.EqualTo(expected), result.Output + result.Errors); }
        AssertPrintable(result.Output);
        AssertPrintable(result.Errors);
        Assert.That((result.Output + result.Errors).Split('\n'), Has.None.StartsWith("hil: pass"), "a value begins no line");
        Assert.That(Bare(result.Output + result.Errors), Does.Contain(Bare(shows)));
    }

    private static string Bare(string text) => string.Concat(text.Where(c => !char.IsWhiteSpace(c)));

    private static void AssertPrintable(string text)
    {
        foreach (Rune rune in text.EnumerateRunes())
        {
            bool odd = rune.Value != '\n'
                && (Rune.IsControl(rune) || rune.Value == 0xFFFD
                    || Rune.GetUnicodeCategory(rune) == System.Globalization.UnicodeCategory.Format);
            if (odd) { Assert.Fail($"U+{rune.Value:X4} in {JsonSerializer.Serialize(text)}"); }
        }
    }

    /// <summary>
    /// Lines erased and moved over, bold, reversed and dimmed text, and what the runtime says to a terminal when it begins and
    /// ends.
    /// </summary>
    [GeneratedRegex(@"\e\[(2K|J|\d+A|[0127;]+m|\?1[hl])|\e[=>]")]
    private static partial Regex Drawn();
}
