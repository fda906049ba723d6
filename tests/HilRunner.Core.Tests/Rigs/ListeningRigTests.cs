using HilRunner.Core.Rigs;

namespace HilRunner.Core.Tests.Rigs;

/// <summary>Rigs into which nothing is injected: the device says what it measures, or only what it decides.</summary>
public class ListeningRigTests
{
    [Test]
    public void ADeviceThatHearsNothing()
    {
        Rig rig = Parse("", "");
        Assert.That((rig.Device.Hears.Sample, rig.Device.Hears.Stream), Is.EqualTo(((OutgoingMessage?)null, (StreamSwitch?)null)));
    }

    [Test]
    public void AStreamThatIsSwitchedOnAndOff()
    {
        Rig rig = Parse("  hears: {stream: {on: go, off: stop}}\n", ", sample: '^d (?<t_us>\\d+) (?<ax>-?\\d+)$'");
        Assert.Multiple(() =>
        {
            Assert.That((rig.Device.Hears.Stream!.On.Template, rig.Device.Hears.Stream.Off!.Template), Is.EqualTo(("go", "stop")));
            Assert.That(rig.Device.Says.Sample!.Names, Is.EqualTo(new[] { "t_us", "ax" }));
        });
    }

    [TestCase("{stream: {off: stop}}", "no on in device.hears.stream")]
    [TestCase("{stream: {on: \"go {n}\"}}", "unknown placeholder {n} in device.hears.stream.on")]
    [TestCase("{stream: {on: {type: 1, fields: []}}}", "device.hears.stream.on is a binary frame")]
    public void AFaultyStream_IsNamed(string hears, string expected) =>
        Assert.That(() => Parse($"  hears: {hears}\n", ""), Throws.TypeOf<BadInputException>().With.Message.Contains(expected));

    private static Rig Parse(string hears, string sample) => RigFile.Parse($$$"""
        rig: r
        device:
          link: {tcp: "localhost:1"}
          framing: lines
        {{{hears}}}  says: {decisions: '^c (?<class>\w+)$'{{{sample}}}}
          input: {rate: 100 Hz, channels: {ax: {count: 1 mg, range: 8 g} } }
        """, "rig.yaml");
}
