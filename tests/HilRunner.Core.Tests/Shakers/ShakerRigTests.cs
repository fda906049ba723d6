using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>What a rig file may say of a table, and what it must not.</summary>
public class ShakerRigTests
{
    private static readonly string s_table = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "shaker-sim.yaml")), s_generator = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "shaker-generator.yaml"));

    [Test]
    public void TheRigsThatComeWithTheToolAreRead()
    {
        var table = RigFile.Parse(s_table, "rig.yaml").Shaker!;
        Assert.That((table.Stream!.Rate.Hertz, table.Stream.Buffer, table.Stream.PerMessage, table.Watchdog, table.Up.Channel), Is.EqualTo((1000.0, 2000, 20, TimeSpan.FromMilliseconds(250), "az")));
        var generator = RigFile.Parse(s_generator, "rig.yaml").Shaker!;
        Assert.That((generator.Watchdog, generator.Stream, generator.MostGPerVolt, generator.Reference!.GPerUnit), Is.EqualTo(((TimeSpan?)null, (ShakerStream?)null, 20.0, 14.14)));
    }

    [TestCase("link: {pty: /tmp/hil-shaker/table}", "link: {serial: {port: /dev/ttyX, baud: 115200, dtr: on}}", "unknown key \"dtr\"")]
    [TestCase("link: {pty: /tmp/hil-shaker/table}", "link: {serial: {port: /dev/ttyX, baud: 115200, rts: on}}", "unknown key \"rts\"")]
    [TestCase("link: {pty: /tmp/hil-shaker/table}", "link: {serial: {port: /dev/ttyX, baud: 115200, handshake: rts_cts}}", "RTS is switched")]
    [TestCase("heartbeat: 50 ms", "heartbeat: 100 ms", "a third of the watchdog")]
    [TestCase("rate: 1000 Hz, buffer", "rate: 799 Hz, buffer", "at least 8 for each hertz")]
    [TestCase("per_message: 20", "per_message: 1000", "per_message")]
    [TestCase("per_message: 20", "per_message: 1001", "1001")]
    [TestCase("buffer: 2000", "buffer: 30", "room for two lines at least")]
    [TestCase("positions: \"p {mm}\"", "positions: \"p\"", "one of {mm}, {um}")]
    [TestCase("(?<g>( -?", "(?<x>( -?", "g")]
    [TestCase(" (?<g>[\\d.]+)$'\n    states", "$'\n    states", "a status without g, and no reference")]
    [TestCase("sine {hz} {mm}", "sine {hz} {v}", "{v} without most_g_per_volt")]
    [TestCase("sine {hz} {mm}", "sine {hz} {mm} {g}", "one of {mm}, {um}, {g}, {v}")]
    public void AControllerThatCouldNotBeDrivenSafelyIsRefused(string right, string wrong, string said)
    {
        string text = s_table.Replace(right, wrong, StringComparison.Ordinal);
        Assert.That(text, Is.Not.EqualTo(s_table));
        if (said == "per_message") { Assert.That(() => RigFile.Parse(text, "rig.yaml"), Throws.Nothing, "half of the buffer"); }
        else { Assert.That(() => RigFile.Parse(text, "rig.yaml"), Throws.TypeOf<BadInputException>().With.Message.Contains(said)); }
    }

    [TestCase("  most_g_per_volt: 20\n", "", "{v} without most_g_per_volt")]
    [TestCase("(?<state>[01]);0,", "(?<state>[01]);(?<g>0),", "a status with g, and a reference too")]
    public void AGeneratorToo(string right, string wrong, string said)
    {
        string text = s_generator.Replace(right, wrong, StringComparison.Ordinal);
        Assert.That(text, Is.Not.EqualTo(s_generator));
        Assert.That(() => RigFile.Parse(text, "rig.yaml"), Throws.TypeOf<BadInputException>().With.Message.Contains(said));
    }
}
