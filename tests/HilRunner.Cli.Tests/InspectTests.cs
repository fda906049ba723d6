using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

public class InspectTests
{
    private const string Morning = "scenarios/parcel/recordings/morning.csv";

    [Test]
    public void AFitRecordingIs0AndEveryCheckSaysSomething()
    {
        var result = Hil.Run("inspect", Morning, "--rate", "50Hz");
        Assert.That(result.Code, Is.Zero, result.Errors + result.Output);
        Assert.That(result.Output, Does.Contain("gravity").And.Contain("labels against motion").And.Contain("fit: nothing speaks against it"));
        Assert.That(result.Output.Split('\n').Max(l => l.Length), Is.LessThanOrEqualTo(80), "fits 80 columns");
    }

    [Test]
    public void UnfitIs1WithCareIs2AndTheWorstDecides()
    {
        using var folder = TestPaths.NewFolder();
        string[] rows = File.ReadAllLines(Path.Combine(TestPaths.Root, Morning));
        string zeros = Write(folder, "zeros.csv", [rows[0], .. Enumerable.Repeat("0,0,0", 20), .. rows[1..]]);
        string broken = Write(folder, "broken.csv", [.. rows[..300], "0.1,?,0.3", .. rows[300..]]);
        Assert.That(Hil.Run("inspect", zeros).Code, Is.EqualTo(2));
        var both = Hil.Run("inspect", zeros, broken);
        Assert.That(both.Code, Is.EqualTo(1), both.Errors);
        Assert.That(both.Output, Does.Contain("unfit: 1 of 2 recordings").And.Contain("line 301"));
    }

    [Test]
    public void AFileThatCannotBeReadDoesNotHideTheOthers()
    {
        var result = Hil.Run("inspect", Morning, "scenarios/parcel/no-such.csv", "scenarios/parcel/belt.yaml");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Output, Does.Contain("morning").And.Contain("belt"));
        Assert.That(result.Errors, Does.Contain("no-such.csv").And.Contain("expected"));
    }

    /// <summary>As a shell names them for *.csv: the labels are read with their recording.</summary>
    [Test]
    public void LabelsThatAPatternNamesAreNoRecordings()
    {
        var result = Hil.Run("inspect", Morning, Morning.Replace(".csv", ".labels.csv"));
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(Hil.Run("inspect", "scenarios/parcel/recordings/none.labels.csv").Code, Is.EqualTo(65), "but one without a recording is said");
    }

    /// <summary>Models and side files match the same pattern: they are passed over, and each recording comes once.</summary>
    [Test]
    public void ScenariosStandForTheRecordingsThatTheyPlay()
    {
        string[] all = [.. Directory.GetFiles(Path.Combine(TestPaths.Root, "scenarios", "parcel"), "*.yaml").Order(StringComparer.Ordinal)];
        var result = Hil.Run(["inspect", .. all, "--json"]);
        using var json = JsonDocument.Parse(result.Output);
        var recordings = json.RootElement.GetProperty("recordings").EnumerateArray().ToList();
        Assert.That(recordings.Select(r => r.GetProperty("name").GetString()), Is.EquivalentTo(new[] { "morning", "belt", "drops", "handover" }));
        Assert.That(result.Errors, Does.Contain("model.yaml").And.Contain("passed over"));
        Assert.That(recordings.Select(r => r.GetProperty("verdict").GetString()), Is.All.EqualTo("fit"), "the demonstration's recordings are in order");
        Assert.That(result.Code, Is.Zero);
        var gravity = recordings[0].GetProperty("checks").EnumerateArray().Single(c => c.GetProperty("check").GetString() == "gravity");
        Assert.That(gravity.GetProperty("figures").GetProperty("rest_g").GetProperty("value").GetDouble(), Is.EqualTo(1).Within(0.01));
        Assert.That(gravity.GetProperty("figures").GetProperty("rest_g").GetProperty("unit").GetString(), Is.EqualTo("g"));
    }

    [Test]
    public void ThePageIsWrittenAndItsPathComesLast()
    {
        using var folder = TestPaths.NewFolder();
        string page = folder.File("page.html");
        var result = Hil.Run("inspect", "scenarios/open-data/person-01.yaml", "--model", "scenarios/open-data/model.yaml", "--reference", "scenarios/open-data/person-02.yaml", "--html", page);
        Assert.That(result.Code, Is.EqualTo(2), result.Errors);
        Assert.That(result.Output.TrimEnd(), Does.EndWith(page));
        Assert.That(File.ReadAllText(page), Does.StartWith("<!doctype html>").And.Contain("acc_exp01_user01"));
    }

    private static string Write(TemporaryFolder folder, string name, IEnumerable<string> lines)
    {
        File.WriteAllLines(folder.File(name), lines);
        File.WriteAllText(folder.File(Path.ChangeExtension(name, ".yaml")), "rate: 100 Hz\nrange: 8 g\n");
        return folder.File(name);
    }
}
