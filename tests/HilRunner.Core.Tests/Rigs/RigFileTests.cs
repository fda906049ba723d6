using HilRunner.Core.Links;
using HilRunner.Core.Rigs;

namespace HilRunner.Core.Tests.Rigs;

/// <summary>What a good rig file becomes.</summary>
internal sealed class RigFileTests
{
    /// <summary>The rig of the product's contract, its channels written out.</summary>
    internal const string Bench = """
        rig: bench-1
        device:
          link: {serial: {port: "usb:1209:0001:A7F3", baud: 115200}}   # or a path; or tcp:, process:, pty:, builtin:
          on_open: {dtr: leave, rts: leave, wait: 2 s, until: booted}  # many boards reset when a line moves
          framing: lines                     # lines | cobs | slip | hdlc | length (sync word, length field)
          hears:
            begin: "begin {rate_mhz}"
            sample: "s {n} {ax} {ay} {az}"   # samples_per_message: 8 for blocks
            end: "end"
          says:
            decisions:                       # one device may have several outputs, each with its own labels and score
              activity: '^c (?<n>\d+) (?<class>\w+)( (?<t_us>\d+))?( (?<score>[\d.]+))?$'
            credit: '^k (?<n>\d+)$'          # flow control: samples up to n are consumed
            booted: '^boot (?<version>\S+)'
            sample: '^d (?<n>\d+) (?<ax>-?\d+) (?<ay>-?\d+) (?<az>-?\d+)$'   # what the device measured, for `record`
          classes: {0: resting, 1: carried, 2: conveyed, 3: dropped}   # or {mask: 0x07, shift: 3, …} for bit fields
          stale_after: 5 s                   # for devices that report every window
          poll: {send: "st", every: 200 ms}  # for devices that only answer
          input: {rate: 50 Hz, channels: {ax: {count: 1 mg, range: 8 g}, ay: {count: 1 mg, range: 8 g}, az: {count: 1 mg, range: 8 g}}}
          identity: {ask: "id", answer: '^id (?<product>\S+) (?<version>\S+)( (?<image>[0-9a-f]+))?( slot (?<slot>\d))?$'}
          clock: {ask: "t {token}", answer: '^t (?<token>\d+) (?<t_us>\d+)$', bits: 32}
          wake: {send: "\n", delay: 50 ms}   # for devices that sleep
        before_each: {send: "reset"}         # no state leaks from run to run
        prepare: []                          # commands that flash and power-cycle; {image} is the file; no shell
        health: {late: 5 ms, lost: 0, clock: 2 ms}
        """;

    [Test]
    public void The_rig_of_the_contract_reads()
    {
        Rig rig = RigFile.Parse(Bench, "rigs/bench-1.yaml");
        DeviceDescription device = rig.Device;
        Assert.Multiple(() =>
        {
            Assert.That(rig.Name, Is.EqualTo("bench-1"));
            Assert.That(device.Link, Is.EqualTo(new SerialLinkSpec("usb:1209:0001:A7F3", 115_200)));
            Assert.That(device.OnOpen, Is.EqualTo(new OnOpen { Wait = TimeSpan.FromSeconds(2), Until = "booted" }));
            Assert.That(device.Framing.Kind, Is.EqualTo(FramingKind.Lines));
            Assert.That(device.Hears.Sample!.Template, Is.EqualTo("s {n} {ax} {ay} {az}"));
            Assert.That(device.Outputs, Is.EqualTo(new[] { "activity" }));
            Assert.That(device.Says.Credit?.Pattern, Is.EqualTo(@"^k (?<n>\d+)$"));
            Assert.That(device.Classes, Is.EqualTo(new Dictionary<string, string> { ["0"] = "resting", ["1"] = "carried", ["2"] = "conveyed", ["3"] = "dropped" }));
            Assert.That(device.StaleAfter, Is.EqualTo(TimeSpan.FromSeconds(5)));
            Assert.That(device.Poll?.Every, Is.EqualTo(TimeSpan.FromMilliseconds(200)));
            Assert.That(device.Input.Rate.MilliHertz, Is.EqualTo(50_000));
            Assert.That(device.Input.Channels, Is.EqualTo(new InputChannel[] { new("ax", 0.001, 8), new("ay", 0.001, 8), new("az", 0.001, 8) }));
            Assert.That(device.Input.Channels[0].MaxCount, Is.EqualTo(8_000));
            Assert.That(device.Clock, Is.EqualTo(new ClockQuery(new("t {token}", null), new(@"^t (?<token>\d+) (?<t_us>\d+)$", null), 32, 1_000, TimeSpan.FromMilliseconds(500), 500)));
            Assert.That(device.Wake, Is.EqualTo(new Wake(new("\n", null), TimeSpan.FromMilliseconds(50))));
            Assert.That(rig.BeforeEach, Is.EqualTo(new SendStep(new("reset", null), TimeSpan.Zero, null)));
            Assert.That(rig.Prepare, Is.Empty);
            Assert.That(rig.Health, Is.EqualTo(new HealthLimits()));
        });
    }
}
