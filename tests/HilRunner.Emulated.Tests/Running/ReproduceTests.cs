using System.Collections.Concurrent;
using System.Globalization;
using System.Text.Json;
using HilRunner.Cli.Tests;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Models;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// A customer's log of an hour, made of open recordings of people in columns and units unlike ours, with what a device with a deliberate defect said of it: <c>hil reproduce</c> finds the firmware at fault,
/// the shortest excerpt, and the first bad image. The moment complained of is the longest in which device and model differ. One defect of the classifier and one other; all of them with HIL_LONG=1.
/// </summary>
[Parallelizable(ParallelScope.Children)]
public sealed class ReproduceTests
{
    private const string ModelPath = "scenarios/open-data/model.yaml";
    private const int Samples = 3600 * 50;
    /// <summary>So much of the hour is played to each defect, and searched for where it shows.</summary>
    private const int Listened = 1900 * 50;
    /// <summary>Window of 2.56 s, and the hops of 0.5 s until as many windows agree as are needed: no excerpt that shows a class is shorter.</summary>
    private const double WindowS = 2.56, HopS = 0.5;
    private static readonly bool s_long = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
    private static readonly string[] s_ofClass = s_long ? [Defects.Threshold, Defects.Window, Defects.Count] : [Defects.Threshold];
    private readonly ConcurrentDictionary<string, Disagreement> _disagreements = new();
    private TemporaryFolder _folder = null!;
    private MotionModel _model = null!;
    private int[][] _hour = [];

    private sealed record Disagreement(double AtS, double ForS, string Expected, string Said, IReadOnlyList<Reported> Reported);

    [OneTimeSetUp]
    public void PlayTheHour()
    {
        _folder = TestPaths.NewFolder("reproduce-emulated");
        _model = MotionModel.Read(Path.Combine(TestPaths.Root, ModelPath));
        string first = TestPaths.OpenData("activity/acc_exp01_user01.txt");
        // One set is in g, the other in m/s²; what is beyond the device's range of 8 g is cut off there.
        double[][] rows = [.. Rows(Path.GetDirectoryName(first)!, 1), .. Rows(Path.Combine(Path.GetDirectoryName(first)!, "..", "activity-pocket"), 1 / Recording.StandardGravity)];
        Assert.That(rows, Has.Length.GreaterThan(Samples));
        _hour = [.. Enumerable.Range(0, 3).Select(c => rows.Take(Samples).Select(r => (int)Math.Clamp(Math.Round(r[c] * 1000), -8000, 8000)).ToArray())];
        var expected = Motion.Expected(_model, _hour);
        foreach (string defect in s_ofClass) { Images.Get(new() { Model = "activity", Protocol = "cobs", Defect = defect }); }
        Parallel.ForEach(s_ofClass, new ParallelOptions { MaxDegreeOfParallelism = 3 }, defect =>
        {
            using var feed = new ModelFeed(Images.Get(new() { Model = "activity", Protocol = "cobs", Defect = defect }), _model);
            var reported = feed.Run([.. _hour.Select(c => c[..Listened])]);
            _disagreements[defect] = Longest(reported, [.. expected.Where(e => e.N < Listened)]);
        });
    }

    [OneTimeTearDown]
    public void Remove() => _folder.Dispose();

    [TestCaseSource(nameof(s_ofClass))]
    public void A_defect_of_the_classifier_is_a_firmware_fault(string defect)
    {
        int windows = defect == Defects.Count ? 1 : 3;
        var where = _disagreements[defect];
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{defect}: {where.Said} for {where.Expected} at {where.AtS:0.00} s, for {where.ForS:0.00} s"));
        string log = WriteLog(defect, where.Reported);
        string around = string.Create(CultureInfo.InvariantCulture, $"{Math.Min(0.5, where.ForS / 3):0.###} s");
        string rig = RigFiles.For(Images.Get(new() { Model = "activity", Defect = defect }), "emulated-activity", "activity");
        var (code, json, errors) = Reproduce(log, rig, "--at", string.Create(CultureInfo.InvariantCulture, $"{where.AtS:0.000} s"), "--expected", where.Expected, "--around", around, "--shrink");
        Assert.That(code, Is.EqualTo(1), errors);
        double shortest = json.GetProperty("shrink").GetProperty("to_seconds").GetDouble();
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{defect}: {json.GetProperty("shown")} of {json.GetProperty("played")}, {shortest} s\n{string.Join('\n', json.GetProperty("evidence").EnumerateArray())}"));
        Assert.Multiple(() =>
        {
            Assert.That(json.GetProperty("culprit").GetString(), Is.EqualTo("firmware fault"));
            Assert.That(shortest, Is.LessThanOrEqualTo(3 * (WindowS + (windows - 1) * HopS)));
            Assert.That(string.Join('\n', json.GetProperty("evidence").EnumerateArray()), Does.Contain("they part at sample"));
            Assert.That(json.GetProperty("kept").GetProperty("passes").GetString(), Does.Contain("model.yaml"));
        });
    }

    /// <summary>The leak is of 16 bytes of 64 KiB a sample: 82 s must be played before it shows, and nobody says so.</summary>
    private static IEnumerable<string?[]> NotOfAClass() =>
    [
        [Defects.Reset, "restart", "8 s", null],
        .. s_long ? new string?[][] { [Defects.Slow, "late", "8 s", "250ms"], [Defects.Clock, "clock", "8 s", "400ppm"], [Defects.Leak, "silence", null, null] } : [],
    ];

    [TestCaseSource(nameof(NotOfAClass))]
    public void What_is_not_about_a_class_is_found_too(string defect, string symptom, string? runIn, string? moreThan)
    {
        string log = WriteLog("plain-" + defect, []);
        string rig = RigFiles.For(Images.Get(new() { Model = "activity", Defect = defect }), "emulated-activity", "activity");
        File.WriteAllText(rig, File.ReadAllText(rig).Replace("health: {", "health: {silence: 2 s, ", StringComparison.Ordinal)
            + "recover: {repeats: 0, power_cycle: [{program: \"true\"}]}\n");
        // Where the model changes its class after a long time in the one before: the report of it is what comes late.
        var change = Motion.Expected(_model, _hour).First(r => r.N > (runIn is null ? 120 * 50 : 60 * 50));
        string at = string.Create(CultureInfo.InvariantCulture, $"{change.N / 50.0 + 0.3:0.000} s");
        var (code, json, errors) = Reproduce(log, rig, ["--at", at, "--expected", change.Class, "--symptom", symptom, "--plays", "2", .. runIn is null ? [] : new[] { "--run-in", runIn }, .. moreThan is null ? [] : new[] { "--more-than", moreThan }]);
        TestContext.Out.WriteLine(string.Join('\n', json.GetProperty("evidence").EnumerateArray()));
        Assert.That((code, json.GetProperty("culprit").GetString()), Is.EqualTo((1, "firmware fault")), errors);
    }

    [Test]
    public void The_first_bad_image_is_found_a_program_may_be_the_model_and_the_healthy_image_is_not_blamed()
    {
        var where = _disagreements[Defects.Threshold];
        string log = WriteLog("bisect", where.Reported), images = Directory.CreateDirectory(_folder.File("images")).FullName, current = _folder.File("current.elf");
        string good = Images.Get(new() { Model = "activity" }), bad = Images.Get(new() { Model = "activity", Defect = Defects.Threshold });
        const int first = 12;
        for (int i = 1; i <= 32; i++) { File.Copy(i < first ? good : bad, Path.Combine(images, $"build-{i}.elf")); }
        File.Copy(good, current);
        string rig = RigFiles.For(current, "emulated-activity", "activity", "prepare:\n  - {program: cp, args: [\"{image}\", " + current + "]}\nmay_erase: firmware\n");
        string at = string.Create(CultureInfo.InvariantCulture, $"{where.AtS:0.000} s");
        var (code, json, errors) = Reproduce(log, rig, "--at", at, "--expected", where.Expected, "--bisect", "build-1..build-32", "--images", images);
        Assert.That(code, Is.EqualTo(1), errors);
        var found = json.GetProperty("bisection");
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{found.GetProperty("first_bad")}, {found.GetProperty("plays")} plays, floor {found.GetProperty("floor_plays").GetDouble():0.0}"));
        Assert.That(found.GetProperty("first_bad").GetString(), Is.EqualTo($"build-{first}.elf"));
        var (blamed, byProgram, told) = Reproduce(log, RigFiles.For(bad, "emulated-activity", "activity"), "--at", at, "--expected", where.Expected, "--host-program", $"{Emulator.RunScript} {good}", "--plays", "2");
        Assert.That((blamed, byProgram.GetProperty("culprit").GetString()), Is.EqualTo((1, "firmware fault")), told);
        Assert.That(byProgram.GetProperty("host").GetString(), Does.Contain("the program run"));
        var (right, healthy, said) = Reproduce(log, RigFiles.For(good, "emulated-activity", "activity"), "--at", at, "--expected", where.Expected);
        Assert.That((right, healthy.GetProperty("culprit").GetString()), Is.EqualTo((2, "not reproduced")), said);
    }

    private (int Code, JsonElement Json, string Errors) Reproduce(string log, string rig, params string[] arguments)
    {
        string[] plays = arguments.Contains("--plays") ? [] : ["--plays", "4"], host = arguments.Contains("--host-program") ? [] : ["--host-model", ModelPath];
        var result = Hil.Run(["reproduce", log, "--columns", "t,ax,ay,az,label", "--time", "ms", "--acceleration", "m/s2", "--decimal", "comma", "--rig", rig, .. host, "--out", _folder.File("cases"), "--json", .. plays, .. arguments]);
        Assert.That(result.Output, Does.StartWith("{"), result.Errors);
        return (result.Code, JsonDocument.Parse(result.Output).RootElement, result.Errors);
    }

    /// <summary>Milliseconds since the logger was started, m/s² with a decimal comma, and what the device said, parted by tabs.</summary>
    private string WriteLog(string name, IReadOnlyList<Reported> said)
    {
        string path = _folder.File(name + ".tsv");
        if (File.Exists(path)) { return path; }
        using var log = new StreamWriter(path);
        log.WriteLine("uptime\tX\tY\tZ\tstate");
        int next = 0;
        string state = "unknown";
        for (int n = 0; n < _hour[0].Length; n++)
        {
            for (; next < said.Count && said[next].N <= n; next++) { state = said[next].Class; }
            log.Write(1_000_000 + 20 * n);
            foreach (int[] channel in _hour) { log.Write("\t" + (channel[n] * Recording.StandardGravity / 1000).ToString("0.00000", CultureInfo.InvariantCulture).Replace('.', ',')); }
            log.WriteLine("\t" + state);
        }
        return path;
    }

    private static IEnumerable<double[]> Rows(string folder, double scale) => Directory.GetFiles(folder, "acc_*.txt").Order(StringComparer.Ordinal).SelectMany(File.ReadLines)
        .Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(f => scale * double.Parse(f, CultureInfo.InvariantCulture)).ToArray());

    private static Disagreement Longest(IReadOnlyList<Reported> device, IReadOnlyList<Reported> model)
    {
        var best = new Disagreement(0, 0, "", "", device);
        string? d = null, m = null;
        long since = 0;
        foreach (long n in device.Select(r => r.N).Concat(model.Select(r => r.N)).Distinct().Order())
        {
            double seconds = (n - since) / 50.0;
            if (d is not null && m is not null && d != m && seconds > best.ForS) { best = new((n + since) / 100.0, seconds, m, d, device); }
            if (device.Any(r => r.N == n)) { d = device.First(r => r.N == n).Class; }
            if (model.Any(r => r.N == n)) { m = model.First(r => r.N == n).Class; }
            since = n;
        }
        return best;
    }
}
