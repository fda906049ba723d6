using System.Globalization;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Models;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>
/// Defects that are not of the classifier, of the same customer: <c>hil reproduce</c> finds the firmware at fault by its restart,
/// its late reports, its clock or its silence. One of them; all of them with HIL_LONG=1.
/// </summary>
[Timing("a device restarts only where samples arrive faster than it takes them")]
public sealed class ReproduceOtherDefectsTests : CustomersHour
{
    private static readonly bool s_long = Environment.GetEnvironmentVariable("HIL_LONG") == "1";

    /// <summary>The leak is of 16 bytes of 64 KiB a sample: 82 s must be played before it shows, and nobody says so.</summary>
    private static IEnumerable<string?[]> NotOfAClass() =>
    [
        [Defects.Reset, "restart", "8 s", null],
        .. s_long ? new string?[][] { [Defects.Slow, "late", "8 s", "250ms"],
            [Defects.Clock, "clock", "8 s", "400ppm"], [Defects.Leak, "silence", null, null] } : [],
    ];

    [TestCaseSource(nameof(NotOfAClass))]
    public void What_is_not_about_a_class_is_found_too(string defect, string symptom, string? runIn, string? moreThan)
    {
        string log = WriteLog("plain-" + defect, []);
        string rig = RigFiles.For(Images.Get(new() { Model = "activity", Defect = defect }), "emulated-activity", "activity");
        File.WriteAllText(rig, File.ReadAllText(rig).Replace("health: {", "health: {silence: 2 s, ", StringComparison.Ordinal)
            + "recover: {repeats: 0, power_cycle: [{program: \"true\"}]}\n");
        // Where the model changes its class after a long time in the one before: the report of it is what comes late.
        var change = Motion.Expected(Model, Hour).First(r => r.N > (runIn is null ? 120 * 50 : 60 * 50));
        string at = string.Create(CultureInfo.InvariantCulture, $"{change.N / 50.0 + 0.3:0.000} s");
        var (code, json, errors) = Reproduce(
            log, rig, ["--at", at, "--expected", change.Class, "--symptom", symptom, "--plays", "2",
                .. runIn is null ? [] : new[] { "--run-in", runIn },
                    .. moreThan is null ? [] : new[] { "--more-than", moreThan }]);
        TestContext.Out.WriteLine(string.Join('\n', json.GetProperty("evidence").EnumerateArray()));
        Assert.That((code, json.GetProperty("culprit").GetString()), Is.EqualTo((1, "firmware fault")), errors);
    }
}
