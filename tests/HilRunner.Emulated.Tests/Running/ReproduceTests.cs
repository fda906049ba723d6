using System.Collections.Concurrent;
using System.Globalization;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Models;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// A customer's log of an hour, made of open recordings of people in columns and units unlike ours, with what a device with a deliberate defect said of it: <c>hil reproduce</c> finds the firmware at fault,
/// the shortest excerpt, and the first bad image. The moment complained of is the longest in which device and model differ. One
/// defect of the classifier; all of them with HIL_LONG=1.
/// </summary>
[Parallelizable(ParallelScope.Children)]
public sealed class ReproduceTests : CustomersHour
{
    /// <summary>So much of the hour is played to each defect, and searched for where it shows.</summary>
    private const int Listened = 1900 * 50;
    /// <summary>Window of 2.56 s, and the hops of 0.5 s until as many windows agree as are needed: no excerpt that shows a class is shorter.</summary>
    private const double WindowS = 2.56, HopS = 0.5;
    private static readonly bool s_long = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
    private static readonly string[] s_ofClass = s_long ? [Defects.Threshold, Defects.Window, Defects.Count] : [Defects.Threshold];
    private readonly ConcurrentDictionary<string, Disagreement> _disagreements = new();

    private sealed record Disagreement(double AtS, double ForS, string Expected, string Said, IReadOnlyList<Reported> Reported);

    [OneTimeSetUp]
    public void PlayTheHour()
    {
        var expected = Motion.Expected(Model, Hour);
        foreach (string defect in s_ofClass) { Images.Get(new() { Model = "activity", Protocol = "cobs", Defect = defect }); }
        Parallel.ForEach(s_ofClass, new ParallelOptions { MaxDegreeOfParallelism = 3 }, defect =>
        {
            using var feed = new ModelFeed(Images.Get(new() { Model = "activity", Protocol = "cobs", Defect = defect }), Model);
            var reported = feed.Run([.. Hour.Select(c => c[..Listened])]);
            _disagreements[defect] = Longest(reported, [.. expected.Where(e => e.N < Listened)]);
        });
    }

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

    [Test]
    public void The_first_bad_image_is_found_a_program_may_be_theModel_and_the_healthy_image_is_not_blamed()
    {
        var where = _disagreements[Defects.Threshold];
        string log = WriteLog("bisect", where.Reported),
            images = Directory.CreateDirectory(Folder.File("images")).FullName, current = Folder.File("current.elf");
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
