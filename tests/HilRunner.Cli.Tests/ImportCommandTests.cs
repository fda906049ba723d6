using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Logs through the command line, as a user imports them.</summary>
public class ImportCommandTests
{
    private const string Log = "time (ms);acc_x;acc_y;acc_z\n0;0,01;0,02;9,81\n20;0,01;0,03;9,79\n40;0,02;0,02;9,80\n";

    private TemporaryFolder _folder = null!;
    private string _log = "";

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        _log = _folder.File("log.csv");
        File.WriteAllText(_log, Log);
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void Without_write_it_says_what_it_understood_and_writes_nothing()
    {
        var result = Hil.Run("import", _log, "--out", _folder.File("shelf"));
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(result.Output, Does.Contain("parted by semicolon, decimal comma, header").And.Contain("50 Hz").And.Contain("guessed as m/s2"));
        Assert.That(result.Errors, Does.Contain("nothing written; say --write"));
        Assert.That(Directory.Exists(_folder.File("shelf")), Is.False);
        Assert.That(result.Output.Split('\n').Max(l => l.Length), Is.LessThanOrEqualTo(120));
    }

    [Test]
    public void With_write_the_recording_is_there_and_is_not_replaced_unasked()
    {
        string[] arguments = ["import", _log, "--out", _folder.File("shelf"), "--acceleration", "m/s2", "--source", "courier 3", "--range", "8 g", "--write"];
        var result = Hil.Run(arguments);
        Assert.That(result.Code, Is.Zero, result.Errors);
        var recording = RecordingFile.Read(Path.Combine(_folder.Path, "shelf", "log.csv"));
        Assert.That((recording.SampleCount, recording.Info.Source, recording.Info.RangeG), Is.EqualTo((3, "courier 3", (double?)8)));
        var again = Hil.Run(arguments);
        Assert.That(again.Code, Is.EqualTo(64));
        Assert.That(again.Errors, Does.Contain("exist already: say --replace"));
        Assert.That(Hil.Run([.. arguments, "--replace"]).Code, Is.Zero);
    }

    /// <summary>As a step of a scenario makes it of the same recording.</summary>
    [TestCase("csv")]
    [TestCase("parquet")]
    public void Transforms_are_applied_as_a_scenario_applies_them(string to)
    {
        string source = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "belt.csv");
        File.WriteAllText(_folder.File("list.yaml"), "- filter: {lowpass: 20 Hz}\n- noise: 5 mg\n");
        var result = Hil.Run(
            "import", source, "--apply", "rotate: {x: 180 deg}", "--apply", _folder.File("list.yaml"), "--seed", "7", "--to", to, "--out", _folder.File("shelf"), "--write");
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(result.Output, Does.Contain("apply      rotate: {x: 180 deg}").And.Contain("seed 7"));
        var made = RecordingFile.Read(Path.Combine(_folder.Path, "shelf", "belt." + to));
        var before = RecordingFile.Read(source);
        var expected = RecordingTransform.Apply(before, TransformList.Parse("[{rotate: {x: 180 deg}}, {filter: {lowpass: 20 Hz}}, {noise: 5 mg}]", "test"), 7, ".", out _);
        Assert.That(made.Channels, Is.EqualTo(expected.Channels));
        Assert.That(made.Labels, Is.EqualTo(before.Labels));
        Assert.That(made.Info.Provenance, Does.EndWith("; transformed on import: rotate: {x: 180 deg}, then - filter: {lowpass: 20 Hz} - noise: 5 mg; seed 7"));
        Assert.That(Directory.GetFileSystemEntries(_folder.File("shelf")).Select(Path.GetFileName), Has.None.StartsWith(".import"));
    }

    [TestCase("rotate: {w: 90 deg}", "--apply:1:")]
    [TestCase("cut: {from: 1000 s}", "a time from 0 on in the recording")]
    public void A_transform_that_cannot_be_applied_leaves_nothing_behind(string transform, string words)
    {
        var result = Hil.Run("import", _log, "--acceleration", "m/s2", "--apply", transform, "--out", _folder.File("shelf"), "--write");
        Assert.That(result.Code, Is.EqualTo(65), result.Output);
        Assert.That(result.Errors, Does.Contain(words));
        Assert.That(Directory.Exists(_folder.File("shelf")) ? Directory.GetFileSystemEntries(_folder.File("shelf")) : [], Is.Empty);
    }

    [Test]
    public void The_log_itself_is_never_replaced()
    {
        var result = Hil.Run("import", _log, "--out", _folder.Path, "--write", "--replace");
        Assert.That(result.Code, Is.EqualTo(64));
        Assert.That(result.Errors, Does.Contain("would replace the log itself"));
        Assert.That(File.ReadAllText(_log), Is.EqualTo(Log));
    }

    [Test]
    public void A_saved_map_reads_the_next_log_without_guessing()
    {
        string map = _folder.File("map.yaml");
        Assert.That(Hil.Run("import", _log, "--save-map", map).Code, Is.Zero);
        var result = Hil.Run("import", _log, "--map", map, "--to", "parquet", "--out", _folder.File("shelf"), "--json", "--write");
        Assert.That(result.Code, Is.Zero, result.Errors);
        using var json = JsonDocument.Parse(result.Output);
        Assert.That(json.RootElement.GetProperty("doubts").GetArrayLength(), Is.Zero);
        Assert.That(json.RootElement.GetProperty("rows").GetProperty("used").GetInt64(), Is.EqualTo(3));
        Assert.That(json.RootElement.GetProperty("recordings")[0].GetProperty("rate_hz").GetDouble(), Is.EqualTo(50));
        Assert.That(RecordingFile.Read(Path.Combine(_folder.Path, "shelf", "log.parquet")).Channels[2][0], Is.EqualTo(9.81 / 9.80665));
    }

    [Test]
    public void A_second_file_joins_with_a_map_of_its_own()
    {
        File.WriteAllText(_folder.File("g.txt"), "1 2 3\n4 5 6\n7 8 9\n");
        File.WriteAllText(_folder.File("g.yaml"), "import: g\nseparator: space\ncolumns: [gx, gy, gz]\ngyro: rad/s\n");
        var result = Hil.Run("import", _log, "--acceleration", "m/s2", "--with", $"{_folder.File("g.txt")}:{_folder.File("g.yaml")}", "--out", _folder.File("shelf"), "--write");
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(RecordingFile.Read(Path.Combine(_folder.Path, "shelf", "log.csv")).ChannelNames, Is.EqualTo(["ax", "ay", "az", "gx", "gy", "gz"]));
    }

    [TestCase("--rate", "50")]
    [TestCase("--time", "fortnights")]
    [TestCase("--columns", "gz,gz")]
    public void A_bad_option_is_named(string option, string value)
    {
        var result = Hil.Run("import", _log, option, value);
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain(option).And.Contain("expected"));
    }

    [Test]
    public void Faults_of_all_logs_come_at_once()
    {
        File.WriteAllText(_folder.File("b.csv"), "ax_g\n1\nx\n");
        var result = Hil.Run("import", _folder.File("b.csv"), _folder.File("no.csv"), "--rate", "50 Hz");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("b.csv:3:1: 'x' as ax").And.Contain("no.csv: no such file"));
    }

    [Test]
    public void A_folder_that_cannot_be_written_is_no_fault_of_the_log()
    {
        var result = Hil.Run("import", _log, "--acceleration", "m/s2", "--out", Path.Combine(_log, "shelf"), "--write");
        Assert.That(result.Code, Is.EqualTo(3), result.Errors);
        Assert.That(result.Errors, Does.Contain("shelf").And.Not.Contain("   at "));
    }

    /// <summary>Every option that the page names is there.</summary>
    [Test]
    public void The_options_of_the_page_are_those_of_the_command()
    {
        string help = Hil.Run("import", "--help").Output;
        string page = File.ReadAllText(Path.Combine(TestPaths.Root, "src", "HilRunner.Core", "Recordings", "Import", "README.md"));
        string[] named = [.. Regex.Matches(page, @"(?<![\w-])--[a-z][a-z-]+").Select(m => m.Value).Distinct()];
        Assert.That(named, Has.Length.GreaterThan(25));
        foreach (string option in named) { Assert.That(help, Does.Match("(?m)^ +" + option + "( |$)"), option); }
    }

    /// <summary>One command a set, as scenarios/open-data/maps says.</summary>
    [TestCase("activity", "acc_*.txt", 6)]
    [TestCase("activity-pocket", "acc_*.txt", 3)]
    [TestCase("activity-daily", "data_*.txt", 36)]
    [TestCase("vibration", "fan.csv", 15)]
    public void One_command_imports_an_open_set(string set, string pattern, int recordings)
    {
        string folder = Path.GetDirectoryName(TestPaths.OpenData(set == "vibration" ? "vibration/fan.csv" : set == "activity-daily" ? "activity-daily/activity_key.txt" : set + "/labels.txt"))!;
        var result = Hil.Run(["import", .. Directory.GetFiles(folder, pattern).Order(StringComparer.Ordinal), "--map", $"scenarios/open-data/maps/{set}.yaml", "--out", _folder.File("shelf"), "--write"]);
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(Directory.GetFiles(_folder.File("shelf"), "*.csv").Count(f => !f.EndsWith(".labels.csv", StringComparison.Ordinal)), Is.EqualTo(recordings));
        Assert.That(result.Output, Does.Not.Contain("guessed"));
    }
}
