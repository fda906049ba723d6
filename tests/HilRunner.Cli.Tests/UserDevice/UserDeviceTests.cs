using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.UserDevice;

/// <summary>
/// A device of a user's own, in another language (user_device.py, written from the documents alone) and on a serial port,
/// is driven by nothing but a rig file of the user's own.
/// </summary>
[Platform("Linux")]
public class UserDeviceTests
{
    // The documented lines format. Its messages are written down in src/HilRunner.Device/README.md.
    private const string LinesRig = """
        rig: desk
        device:
          link: {serial: {port: host, baud: 115200}}
          framing: lines
          hears:
            begin: "begin {rate_mhz}"
            sample: "s {n} {ax} {ay} {az}"
            end: "end"
          says:
            decisions: '^c (?<n>\d+) (?<class>\w+) (?<t_us>\d+) (?<score>[\d.]+)$'
            credit: '^k (?<n>\d+)$'
            booted: '^boot (?<version>\S+)$'
          input:
            rate: 100 Hz
            channels:
              ax: {count: 1 mg, range: 8 g}
              ay: {count: 1 mg, range: 8 g}
              az: {count: 1 mg, range: 8 g}
          identity: {ask: "id", answer: '^id (?<product>\S+) (?<version>\S+) (?<image>[0-9a-f]+)$'}
          clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$'}
        before_each: {send: "reset", wait: 2 s, until: booted}
        """;

    // A format that stands nowhere but here. The device counts samples and says their number, so reaction does not
    // depend on when a sample was sent, and the rig may be as late as a loaded machine makes it.
    private const string OwnRig = """
        rig: desk
        device:
          link: {serial: {port: host, baud: 115200}}
          framing: {lines: {end: "\r\n"}}
          hears:
            begin: "GO"
            sample: "{ax};{ay};{az}"
            end: "HALT"
          says:
            decisions: '^MOTION=(?<class>\d+);SEQ=(?<n>\d+)$'
          classes: {0: resting, 1: carried, 2: conveyed}
          stale_after: 2 s
          input:
            rate: 100 Hz
            channels:
              ax: {count: 2 mg, range: 8 g}
              ay: {count: 2 mg, range: 8 g}
              az: {count: 2 mg, range: 8 g}
        health: {late: 250 ms}
        """;

    // The device needs a window of 1 s and sees each class twice, 0.25 s apart, before it says it: 1.5 s at most.
    private const string Motion = """
        scenario: rest, walk, belt, rest
        stimulus:
          - synth: {rest: 10 s, class: resting}
          - synth: {tone: 2 Hz, peak: 0.3 g, axis: z, for: 10 s, class: carried}
          - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 10 s, class: conveyed}
          - synth: {rest: 10 s, class: resting}
        within: 3 s
        limits:
          - {measure: recognised, at_least: 100 %}
          - {measure: reaction, statistic: max, at_most: 1.5 s}
        """;

    // The same, at the speed of a device that gives no credit. It reports each half second: 2 s at most.
    private const string Ride = """
        scenario: a short ride on the belt
        stimulus:
          - synth: {rest: 4 s, class: resting}
          - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: 6 s, class: conveyed}
        within: 3 s
        limits:
          - {measure: recognised, at_least: 100 %}
          - {measure: reaction, statistic: max, at_most: 2 s}
        """;

    [Test]
    public void ADeviceThatSpeaksTheDocumentedLinesIsCheckedPlayedAndScored()
    {
        using var bench = new UserBench("lines", LinesRig, Motion);

        var check = bench.Hil("check", bench.Rig);
        Assert.That(check.Code, Is.Zero, check.Output + check.Errors);
        Assert.That(check.Output.TrimEnd().Split('\n')[^1], Is.EqualTo("healthy"));
        Assert.That(check.Output, Does.Contain("user-tag"));

        var (result, run, score) = bench.Run();
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(run.Identity, Is.EquivalentTo(new Dictionary<string, string>
        {
            ["product"] = "user-tag",
            ["version"] = "2.3.1",
            ["image"] = "0badc0de",
        }));
        Assert.That(run.Speed, Is.EqualTo("max"), "it gives credit");
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Pass));
        Assert.That(bench.ClassesDecided(), Is.EqualTo(["resting", "carried", "conveyed", "resting"]), "it speaks on changes only");
    }

    [Test]
    public void TheRigOfTheBuiltInDeviceDrivesItToo()
    {
        using var bench = new UserBench("lines", File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")), Motion);
        var (result, run, score) = bench.Run("--link", $"serial:{bench.Port}?baud=115200");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(run.Identity["product"], Is.EqualTo("user-tag"));
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Pass));
    }

    [Test]
    public void ADeviceWithAFormatOfItsOwnNeedsARigFileOnly()
    {
        using var bench = new UserBench("own", OwnRig, Ride);

        var check = bench.Hil("check", bench.Rig);
        Assert.That(check.Code, Is.Zero, check.Output + check.Errors);

        var (result, run, score) = bench.Run();
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(run.Identity, Is.Empty, "it was asked for none");
        Assert.That(run.Speed, Is.EqualTo("real"), "it gives no credit");
        Assert.That(run.Ended - run.Started, Is.GreaterThan(TimeSpan.FromSeconds(9.9)), "10 s of motion at real speed");
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Pass));
        string[] decided = bench.ClassesDecided();
        Assert.That(decided.Distinct(), Is.EqualTo(["resting", "conveyed"]));
        Assert.That(decided, Has.Length.GreaterThan(10), "it repeats itself each half second");
    }

    [Test]
    public void WrongNumbersOfClassesFail()
    {
        // The rig file has two classes the wrong way round: what is scored comes from the device and the file, not from the scenario.
        string rig = LinesRig.Replace("  input:", "  classes: {resting: conveyed, conveyed: resting, carried: carried}\n  input:", StringComparison.Ordinal);
        using var bench = new UserBench("lines", rig, Motion);
        var (result, _, score) = bench.Run();
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Fail));
        Assert.That(bench.ClassesDecided(), Is.EqualTo(["conveyed", "carried", "resting", "conveyed"]));
    }
}
