using System.Globalization;
using System.Text;
using System.Text.Json;
using HilRunner.Core.Numerics;
using HilRunner.Core.Recordings;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>From a customer's log to a scenario, through the real executable and the virtual device: builds of it are model files, as images are on a board.</summary>
public class ReproduceTests
{
    /// <summary>The model's window of 1.28 s and two hops until three windows agree: no excerpt that shows a class is shorter.</summary>
    private const double ShortestPossible = 1.78;
    private const string Model = "scenarios/parcel/model.yaml", Columns = "t,ax,ay,az,label";
    private static readonly DateTime s_begun = new(2026, 3, 2, 11, 30, 0, DateTimeKind.Utc);
    private TemporaryFolder _folder = null!;
    private string _rig = "", _bad = "";

    [OneTimeSetUp]
    public void Prepare()
    {
        _folder = TestPaths.NewFolder("reproduce");
        string good = File.ReadAllText(Path.Combine(TestPaths.Root, Model));
        // Rollers from 12 Hz on have a pace of 730 and more: this build takes them for steps.
        _bad = Write("bad.yaml", good.Replace("below: 520", "below: 900", StringComparison.Ordinal));
        Write("current.yaml", good);
        string rig = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"));
        string root = Path.Combine(TestPaths.Root, "scenarios", "parcel").Replace('\\', '/');
        _rig = Write("rig.yaml", rig.Replace("../scenarios/parcel", root, StringComparison.Ordinal).Replace("quiet: 100 ms", "quiet: 20 ms", StringComparison.Ordinal).Replace("health: {", "health: {silence: 1 s, ", StringComparison.Ordinal));
        Write("bench.yaml", File.ReadAllText(_rig).Replace(root + "/model.yaml", _folder.File("current.yaml"), StringComparison.Ordinal)
            .Replace("before_each:", $"prepare:\n  - {{program: cp, args: [\"{{image}}\", {_folder.File("current.yaml")}]}}\nmay_erase: firmware\nbefore_each:", StringComparison.Ordinal));
        WriteLog("log.csv", c => c == "conveyed" ? "carried" : c);
        WriteLog("truth.csv", c => c);
    }

    [OneTimeTearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void AFirmwareFaultIsToldShrunkAndKept()
    {
        var (result, json) = Reproduce("firmware", "log.csv", "--link", Device(_bad), "--at", "2026-03-02T12:32:35+01:00", "--expected", "conveyed", "--shrink", "--internal");
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        string evidence = string.Join('\n', json.GetProperty("evidence").EnumerateArray());
        Assert.Multiple(() =>
        {
            Assert.That(Text(json, "culprit"), Is.EqualTo("firmware fault"));
            Assert.That((json.GetProperty("shown").GetInt32(), json.GetProperty("played").GetInt32()), Is.EqualTo((6, 6)));
            // Clopper and Pearson 1934: 6 of 6 at 95 %, two-sided, is 0.025^(1/6) and more.
            Assert.That(json.GetProperty("share_95")[0].GetDouble(), Is.EqualTo(Math.Pow(0.025, 1 / 6.0)).Within(1e-6));
            Assert.That(Text(json, "when"), Is.EqualTo("2026-03-02T11:32:35.000Z"));
            Assert.That(evidence, Does.Contain("pace(main)").And.Contain("not below 520").And.Contain("agrees with the device in 0 of 6"));
            Assert.That(evidence, Does.Contain("what the device says now is what the log says it said in 100 %"));
            Assert.That(json.GetProperty("shrink").GetProperty("to_seconds").GetDouble(), Is.InRange(ShortestPossible, 3 * ShortestPossible));
            Assert.That(Text(json.GetProperty("kept"), "passes"), Does.Contain("model.yaml"));
        });
        string kept = Path.Combine(Case("firmware"), "keep", "firmware.yaml");
        Assert.That(Hil.Run("run", kept, "--rig", _rig, "--link", Device(_bad), "--out", _folder.File("kept-runs"), "--quiet").Code, Is.EqualTo(1), "the bad build fails it");
        Assert.That(Hil.Run("run", kept, "--rig", _rig, "--out", _folder.File("kept-runs"), "--quiet").Code, Is.Zero, "the good one passes");
        string plainest = Path.Combine(Case("firmware"), "plainest", "firmware.yaml");
        Assert.That(Hil.Run("run", plainest, "--rig", _rig, "--link", Device(_bad), "--out", _folder.File("kept-runs"), "--quiet").Code, Is.EqualTo(1), "so does what is left after simplifying");
    }

    [Test]
    public void TheFirstBadOfThirtyTwoIsFoundAndWhatDoesNotStartIsLeftOut()
    {
        string builds = Directory.CreateDirectory(_folder.File("builds")).FullName;
        const int first = 19;
        for (int i = 1; i <= 32; i++)
        {
            File.Copy(i < first ? Path.Combine(TestPaths.Root, Model) : _bad, Path.Combine(builds, $"build-{i}.yaml"));
        }
        File.WriteAllText(Path.Combine(builds, "build-18.yaml"), "no model");
        var (result, json) = Reproduce("bisect", "log.csv", ["--host-model", Model, "--at", "155 s", "--expected", "conveyed", "--bisect", "build-1..build-32", "--images", builds], "bench.yaml");
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        var found = json.GetProperty("bisection");
        Assert.Multiple(() =>
        {
            Assert.That(Text(found, "first_bad"), Is.EqualTo("build-19.yaml"));
            Assert.That(found.GetProperty("or_one_of")[0].GetString(), Is.EqualTo("build-18.yaml"), "it could not be played, and may be the first bad one just as well");
            Assert.That(found.GetProperty("confidence").GetDouble(), Is.GreaterThanOrEqualTo(0.99));
            Assert.That(found.GetProperty("plays").GetInt32(), Is.LessThan(32));
            Assert.That(found.GetProperty("floor_plays").GetDouble(), Is.EqualTo(Math.Log2(31)).Within(1e-9));
            Assert.That(Text(json.GetProperty("kept"), "fails") + Text(json.GetProperty("kept"), "passes"), Is.EqualTo("build-32.yamlbuild-1.yaml"));
        });
        // Revisions that an image is made of when it is wanted; 18 cannot be made.
        string revisions = Write("revisions.txt", "# oldest first\n" + string.Join('\n', Enumerable.Range(1, 32)));
        File.Delete(Path.Combine(builds, "build-18.yaml"));
        (result, json) = Reproduce("made", "log.csv", ["--host-model", Model, "--at", "155 s", "--expected", "conveyed", "--plays", "2", "--bisect", "1..32", "--images", revisions, "--make", $"cp {builds}/build-{{revision}}.yaml {{image}}"], "bench.yaml");
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        Assert.That(Text(json.GetProperty("bisection"), "first_bad"), Is.EqualTo("19"));
    }

    [Test]
    public void AModelFaultIsNotAFirmwareFaultNorAnInputFault()
    {
        string[] reference = [.. Directory.GetFiles(Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings"), "*.csv").Where(f => !f.EndsWith(".labels.csv", StringComparison.Ordinal))];
        var (result, json) = Reproduce("model", "log.csv", ["--link", Device(_bad), "--host-model", _bad, "--at", "#15500", "--expected", "conveyed", "--shrink", "--reference", .. reference]);
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((1, "model fault")), result.Output);
        Assert.That(Text(json.GetProperty("shrink"), "on"), Does.Contain("on the host"), "nothing need be played to shrink it");
        Assert.That(json.GetProperty("kept").GetProperty("passes").ValueKind, Is.EqualTo(JsonValueKind.Null), "nothing passes it yet");
    }

    [Test]
    public void AWrongLabelIsAnInputFaultAndTheDeviceIsNotBlamed()
    {
        // The belt is labelled as carried, from 142 s to 162 s: the device is right, and its model says the same.
        string log = Write("altered.csv", File.ReadAllText(_folder.File("truth.csv")));
        string[] lines = File.ReadAllLines(log);
        for (int i = 1 + 14_200; i < 1 + 16_200; i++) { lines[i] = lines[i].Replace("conveyed", "carried", StringComparison.Ordinal); }
        File.WriteAllLines(log, lines);
        var (result, json) = Reproduce("altered", "altered.csv", "--at", "155 s", "--expected", "carried");
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((0, "input fault")), result.Output);
        Assert.That(string.Join('\n', json.GetProperty("evidence").EnumerateArray()), Does.Contain("looks like conveyed"));
        Assert.That(json.GetProperty("kept").ValueKind, Is.EqualTo(JsonValueKind.Null));
    }

    [Test]
    public void ACorrectDeviceIsNotBlamed()
    {
        var (result, json) = Reproduce("right", "log.csv", "--at", "155 s", "--expected", "conveyed", "--reported", "carried");
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((2, "not reproduced")), result.Output);
        Assert.That(string.Join('\n', json.GetProperty("evidence").EnumerateArray()), Does.Contain("it shows in 0 of 6 plays").And.Contain("says conveyed, as expected"));
        Assert.That(json.GetProperty("kept").ValueKind, Is.EqualTo(JsonValueKind.Null));
    }

    [Test]
    public void ARigThatIsOutOfOrderIsNoFaultOfTheDevice()
    {
        var (result, json) = Reproduce("rig", "log.csv", "--link", Device(_bad) + "&garble_bytes=0.06", "--at", "155 s", "--expected", "conveyed", "--plays", "2", "--run-in", "3 s");
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((2, "rig fault")), result.Output);
        Assert.That(json.GetProperty("spoiled").GetInt32(), Is.EqualTo(2));
    }

    /// <summary>The same complaint with another cause each: a threshold, a window of another length, a rig file that mixes the axes up.</summary>
    [TestCase("below: 520", "below: 900", "features", "s {n} {ax}", "", "features that the device said are the model's: what differs comes after them")]
    [TestCase("window: 1.28 s", "window: 0.64 s", "features", "s {n} {ax}", "below: 900", "the device looked at a window that ends with sample 63, where the model has not seen a whole one")]
    [TestCase("below: 520", "below: 900", "samples", "s {n} {ay} {az} {ax}", "", "the device works on other samples than were played: at sample 0 its ax is")]
    public void WhatTheDeviceReportsIsComparedOneByOne(string good, string bad, string reports, string hears, string also, string said)
    {
        string model = File.ReadAllText(Path.Combine(TestPaths.Root, Model)).Replace(good, bad, StringComparison.Ordinal);
        if (also.Length > 0) { model = model.Replace("below: 520", also, StringComparison.Ordinal); }
        string path = Write($"{reports}-{bad.Length}-{hears.Length}.yaml", model);
        string rig = File.ReadAllText(_rig).Replace("    credit:", "    features: '^f (?<n>\\d+) (?<deviation_main>-?\\d+) (?<pace_main>-?\\d+)$'\n    credit:", StringComparison.Ordinal);
        if (hears.Length > 10) { rig = rig.Replace("s {n} {ax} {ay} {az}", hears, StringComparison.Ordinal); }
        Write("reporting.yaml", rig);
        var (result, json) = Reproduce($"{reports}-{bad.Length}-{hears.Length}", "log.csv", ["--link", $"{Device(path)}&reports={reports}", "--at", "155 s", "--expected", "conveyed", "--plays", "2"], "reporting.yaml");
        Assert.That(string.Join('\n', json.GetProperty("evidence").EnumerateArray()), Does.Contain(said), result.Output);
    }

    /// <summary>A build that takes no impact for one, and one that takes carrying for it: both are about an event, which is no state.</summary>
    [TestCase("above: 2.5 g", "above: 7.9 g", "dropped", null, "scenarios/parcel/recordings/drops.csv", "18 s")]
    [TestCase("below: 350 mg\n    for: 200 ms", "below: 800 mg\n    for: 20 ms", "carried", "dropped", "scenarios/parcel/recordings/morning.csv", "20 s")]
    public void AnEventThatIsMissedOrInventedIsAComplaintToo(string good, string bad, string expected, string? reported, string log, string at)
    {
        string model = File.ReadAllText(Path.Combine(TestPaths.Root, Model));
        Assert.That(model, Does.Contain(good.Split('\n')[0]));
        foreach (var (from, to) in good.Split('\n').Zip(bad.Split('\n'))) { model = model.Replace(from.Trim(), to.Trim(), StringComparison.Ordinal); }
        if (reported is not null) { model = model.Replace("above: 2.5 g", "above: 1.1 g", StringComparison.Ordinal); }
        string path = Write($"event-{expected}.yaml", model), folder = _folder.File($"case-{expected}");
        var result = Hil.Run([
            "reproduce", log, "--rate", "100 Hz", "--rig", _rig, "--link", Device(path), "--at", at, "--expected", expected, .. reported is null ? [] : new[] { "--reported", reported }, "--around", "1 s", "--plays", "2", "--name", expected, "--out", folder, "--json"]);
        Assert.That(result.Output, Does.StartWith("{"), result.Errors);
        var json = JsonDocument.Parse(result.Output).RootElement;
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((1, "firmware fault")), result.Output);
        string kept = Path.Combine(Case(expected), "keep", $"{expected}.yaml");
        Assert.That(Hil.Run("run", kept, "--rig", _rig, "--link", Device(path), "--out", _folder.File("kept-runs"), "--quiet").Code, Is.EqualTo(1), "the bad build fails it");
        Assert.That(Hil.Run("run", kept, "--rig", _rig, "--out", _folder.File("kept-runs"), "--quiet").Code, Is.Zero, "the good one passes");
    }

    [Test]
    public void ARestartIsAComplaintToo()
    {
        var (result, json) = Reproduce("restart", "log.csv", "--link", Device(Path.Combine(TestPaths.Root, Model)) + "&reset_at=300", "--at", "155 s", "--symptom", "restart");
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((1, "firmware fault")), result.Output + result.Errors);
        Assert.That(File.ReadAllText(Path.Combine(Case("restart"), "keep", "restart.yaml")), Does.Contain("device_resets"));
    }

    [Test]
    public void WithoutAMomentTheLogsOwnClassSaysWhere()
    {
        string[] several = Refused("log.csv", "--expected", "carried");
        Assert.That(several[0], Does.Contain("moments").And.Contain("say which"));
        Assert.That(several, Has.Some.Contain("resting from").And.Some.Contain("after the start of log"));
        var lines = File.ReadAllLines(_folder.File("log.csv"));
        File.WriteAllLines(_folder.File("one.csv"), lines.Where((l, i) => i == 0 || (i > 14_200 && i <= 16_200)));
        var (result, json) = Reproduce("one", "one.csv", "--expected", "conveyed", "--link", Device(_bad));
        Assert.That((result.Code, Text(json, "culprit")), Is.EqualTo((1, "firmware fault")), result.Output + result.Errors);
        Assert.That(Text(json, "complaint"), Does.Contain("carried where it should have said conveyed, 10 s into log"));
    }

    [TestCase("nonsense", "expected a date and time")]
    [TestCase("2026-10-25T02:30:00 Europe/Berlin", "not in")]
    [TestCase("2026-03-29T02:30:00 Europe/Berlin", "did not exist")]
    [TestCase("2026-03-02T12:32:35 Moon/Crater", "no zone Moon/Crater")]
    [TestCase("2026-03-02T12:32:35Z", "not in")]
    [TestCase("12:32", "not in")]
    [TestCase("#99999999", "not in")]
    [TestCase("label:flying", "not in")]
    public void AMomentThatIsNotThereIsRefused(string at, string said)
    {
        Assert.That(string.Join('\n', Refused("log.csv", "--expected", "conveyed", "--at", at)), Does.Contain(said));
        Assert.That(Directory.Exists(_folder.File("refused")) && Directory.GetDirectories(_folder.File("refused")).Length > 0, Is.False, "nothing is left of it");
    }

    [Test]
    public void ATimeOfDayIsAMomentOfTheLogsOnlyDay()
    {
        var (_, json) = Reproduce("day", "log.csv", "--at", "11:32:35", "--expected", "conveyed", "--plays", "1");
        Assert.That(Text(json, "complaint"), Does.Contain("155 s into log"));
    }

    [Test]
    public void AnHourThatComesTwiceIsListed()
    {
        string log = _folder.File("autumn.csv");
        WriteLog("autumn.csv", c => c, new(2026, 10, 25, 0, 29, 0, DateTimeKind.Utc), minutes: 62);
        string[] said = Refused(log, "--expected", "conveyed", "--at", "2026-10-25T02:30:00 Europe/Berlin");
        Assert.That(string.Join('\n', said), Does.Contain("2 moments").And.Contain("UTC+02:00").And.Contain("UTC+01:00").And.Contain("2026-10-25T00:30:00.000Z").And.Contain("2026-10-25T01:30:00.000Z"));
    }

    [Test]
    public void AGapIsNotPlayedAcross()
    {
        string[] lines = File.ReadAllLines(_folder.File("log.csv"));
        File.WriteAllLines(_folder.File("gap.csv"), lines.Where((_, i) => i is < 14_500 or >= 15_300));
        var (result, json) = Reproduce("gap", "gap.csv", "--at", "155 s", "--expected", "conveyed", "--link", Device(_bad));
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        Assert.That(string.Join('\n', json.GetProperty("notes").EnumerateArray()), Does.Contain("parted into 2 stretches"));
        Assert.That(json.GetProperty("excerpt").GetProperty("seconds").GetDouble(), Is.LessThan(3.1), "what lies before the gap is not played");
        Assert.That(string.Join('\n', Refused("gap.csv", "--at", "148 s", "--expected", "conveyed")), Does.Contain("gaps between its 2 stretches"));
    }

    [Test]
    public void AnonymisedNothingOfTheLogIsLeft()
    {
        var (_, json) = Reproduce("", "log.csv", "--at", "155 s", "--expected", "conveyed", "--link", Device(_bad), "--anonymise", "--provenance", "Mr Example's parcel", "--plays", "2");
        Assert.That((Text(json, "log"), json.GetProperty("when").ValueKind), Is.EqualTo(("", JsonValueKind.Null)));
        foreach (string file in Directory.GetFiles(Case("complaint"), "*", SearchOption.AllDirectories))
        {
            string text = Encoding.Latin1.GetString(File.ReadAllBytes(file));
            foreach (string trace in new[] { "log.csv", "2026-03-02", "Example" }) { Assert.That(text.Contains(trace, StringComparison.Ordinal), Is.False, $"{trace} in {file}"); }
        }
    }

    [Test]
    public void AnInterruptedSearchGoesOnWhereItWas()
    {
        string[] arguments = ["reproduce", _folder.File("log.csv"), "--columns", Columns, "--time", "iso", "--acceleration", "m/s2", "--rig", _rig, "--link", Device(_bad), "--at", "155 s", "--expected", "conveyed", "--shrink", "--plays", "3", "--name", "cut", "--out", _folder.File("cut")];
        using (var process = Hil.Start(arguments))
        {
            process.StandardInput.Close();
            // Twice it has said that something shorter still shows it: it is in the midst of the search.
            int told = 0;
            while (told < 2 && process.StandardError.ReadLine() is { } line) { if (line.StartsWith("shrinking", StringComparison.Ordinal)) { told++; } }
            using (var kill = System.Diagnostics.Process.Start("kill", ["-INT", process.Id.ToString(CultureInfo.InvariantCulture)])) { kill.WaitForExit(); }
            string rest = process.StandardError.ReadToEnd();
            process.WaitForExit();
            Assert.That((told, process.ExitCode), Is.EqualTo((2, 130)), rest);
            Assert.That(rest, Does.Contain("--resume"));
        }
        string first = Directory.GetDirectories(_folder.File("cut")).Single();
        Assert.That(JsonDocument.Parse(File.ReadAllText(Path.Combine(first, "case.json"))).RootElement.GetProperty("ended").ValueKind, Is.EqualTo(JsonValueKind.Null));
        int before = File.ReadAllLines(Path.Combine(first, "answers.csv")).Length;
        Assert.That(before, Is.GreaterThan(3));
        var result = Hil.Run([.. arguments, "--resume"]);
        Assert.That(result.Code, Is.EqualTo(1), result.Errors);
        Assert.That(result.Errors, Does.Contain("going on with"));
        string second = Directory.GetDirectories(_folder.File("cut")).Single(d => d != first);
        string[] now = File.ReadAllLines(Path.Combine(second, "answers.csv"));
        Assert.That(now.Take(before), Is.EqualTo(File.ReadAllLines(Path.Combine(first, "answers.csv"))), "what was answered is kept");
        int shrunk = JsonDocument.Parse(File.ReadAllText(Path.Combine(second, "case.json"))).RootElement.GetProperty("shrink").GetProperty("plays").GetInt32();
        // Run-in 2, reproduction 3, checking what is kept 1: whatever else was played is a new answer.
        Assert.That(Directory.GetDirectories(Path.Combine(second, "runs", "01")), Has.Length.LessThanOrEqualTo(6 + shrunk - before));
    }

    private static string Device(string model) => $"builtin:lines?model={model}&credit_window=256";

    private (HilResult Result, JsonElement Json) Reproduce(string name, string log, params string[] arguments) => Reproduce(name, log, arguments, "rig.yaml");

    private (HilResult Result, JsonElement Json) Reproduce(string name, string log, string[] arguments, string rig)
    {
        string folder = _folder.File("case-" + (name.Length > 0 ? name : "complaint"));
        string[] plays = arguments.Contains("--plays") ? [] : ["--plays", "6"];
        string[] named = name.Length > 0 ? ["--name", name] : [];
        var result = Hil.Run(["reproduce", _folder.File(log), "--columns", Columns, "--time", "iso", "--acceleration", "m/s2", "--rig", _folder.File(rig), "--out", folder, "--json", .. named, .. plays, .. arguments]);
        Assert.That(result.Output, Does.StartWith("{"), result.Errors);
        return (result, JsonDocument.Parse(result.Output).RootElement);
    }

    private string[] Refused(string log, params string[] arguments)
    {
        var result = Hil.Run(["reproduce", _folder.File(log), "--columns", Columns, "--time", "iso", "--acceleration", "m/s2", "--rig", _rig, "--out", _folder.File("refused"), .. arguments]);
        Assert.That(result.Code, Is.EqualTo(64), result.Output + result.Errors);
        return result.Errors.Split('\n');
    }

    private string Case(string name) => Directory.GetDirectories(_folder.File("case-" + name)).Single();

    private static string Text(JsonElement json, string key) => json.GetProperty(key).GetString() ?? "";

    private string Write(string name, string text)
    {
        File.WriteAllText(_folder.File(name), text);
        return _folder.File(name);
    }

    /// <summary>
    /// Two mornings, a belt, a morning: as a customer's logger writes it, with stamps in UTC, in m/s², columns parted by semicolons, and a column of classes.
    /// The belt begins at 142 s with 20 s on rollers.
    /// </summary>
    private void WriteLog(string name, Func<string, string> said, DateTime? begun = null, int minutes = 0)
    {
        string[] parts = ["morning", "morning", "belt", "morning"];
        using var log = new StreamWriter(_folder.File(name));
        log.WriteLine("when;x;y;z;class");
        int n = 0;
        do
        {
            foreach (string part in parts)
            {
                var recording = RecordingFile.Read(Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", part + ".csv"));
                for (int i = 0; i < recording.SampleCount; i++, n++)
                {
                    var at = recording.Rate.TimeOf(i);
                    string label = recording.Labels.FirstOrDefault(l => l.Start <= at && at < l.End)?.Class ?? "resting";
                    log.Write((begun ?? s_begun).AddMilliseconds(10 * n).ToString("yyyy-MM-ddTHH:mm:ss.fff'Z'", CultureInfo.InvariantCulture));
                    foreach (var channel in recording.Channels.Take(3)) { log.Write(string.Create(CultureInfo.InvariantCulture,
                        $";{channel[i] * Gravity.Standard:0.0000}")); }
                    log.WriteLine($";{(part == "belt" ? said(label) : label)}");
                }
            }
        }
        while (n < minutes * 6000);
    }
}
