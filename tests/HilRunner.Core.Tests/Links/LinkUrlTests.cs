using HilRunner.Core.Links;

namespace HilRunner.Core.Tests.Links;

internal sealed class LinkUrlTests
{
    private static readonly SerialLinkSpec Rig = new("usb:1209:0001", 9_600)
    {
        DataBits = 7, Parity = SerialParity.Even, StopBits = 2, Handshake = SerialHandshake.RtsCts, HangUpOnClose = false, Dtr = LineState.On, Rts = LineState.Off,
    };

    private static IEnumerable<TestCaseData> Good()
    {
        yield return new("serial:/dev/ttyUSB0?baud=115200&parity=even", new SerialLinkSpec("/dev/ttyUSB0", 115_200) { Parity = SerialParity.Even });
        yield return new("serial:usb:1209:0001:A7F3?baud=9600&data_bits=7&stop_bits=1.5&handshake=xon_xoff&hang_up_on_close=false",
            new SerialLinkSpec("usb:1209:0001:A7F3", 9_600) { DataBits = 7, StopBits = 1.5, Handshake = SerialHandshake.XonXoff, HangUpOnClose = false });
        yield return new("pty:/tmp/tag", new PtyLinkSpec("/tmp/tag"));
        yield return new("tcp://localhost:5000", new TcpLinkSpec("localhost", 5_000));
        yield return new("tcp:[::1]:5000", new TcpLinkSpec("::1", 5_000));
        yield return new("builtin:cobs?model=m.yaml&think=3ms&delay=20ms&link_in=1ms&link_out=25ms&link_jitter=30 ms&lose_answers=0.3&clock_skew=50ppm&lose_bytes=1%25&reset_at=500&pty=false&seed=7&clock_offset=-2 s",
            new BuiltinLinkSpec(new VirtualDeviceOptions
            {
                Model = "m.yaml", Protocol = VirtualDeviceProtocol.Cobs, Delay = TimeSpan.FromMilliseconds(20), Think = TimeSpan.FromMilliseconds(3),
                LinkIn = TimeSpan.FromMilliseconds(1), LinkOut = TimeSpan.FromMilliseconds(25), LinkJitter = TimeSpan.FromMilliseconds(30), LoseAnswers = 0.3,
                ClockSkewPpm = 50, LoseBytes = 0.01,
                ResetAt = 500, Pty = false, Seed = 7, ClockOffset = TimeSpan.FromSeconds(-2),
            }));
        yield return new("builtin:?model=m.yaml", new BuiltinLinkSpec(new VirtualDeviceOptions { Model = "m.yaml" }));
    }

    [TestCaseSource(nameof(Good))]
    public void A_link_in_one_word_reads(string url, LinkSpec expected) => Assert.That(LinkUrl.Parse(url), Is.EqualTo(expected));

    [Test]
    public void A_program_keeps_its_arguments_apart()
    {
        var link = (ProcessLinkSpec)LinkUrl.Parse("process:./device --name 'parcel tag' \"\" a\"b c\"d");
        Assert.Multiple(() =>
        {
            Assert.That(link.Program, Is.EqualTo("./device"));
            Assert.That(link.Arguments, Is.EqualTo(new[] { "--name", "parcel tag", "", "ab cd" }));
        });
    }

    [Test]
    public void The_rigs_serial_settings_hold_where_the_URL_gives_none() => Assert.Multiple(() =>
    {
        Assert.That(LinkUrl.Parse("serial:/dev/ttyACM1", Rig), Is.EqualTo(Rig with { Port = "/dev/ttyACM1" }));
        Assert.That(LinkUrl.Parse("serial:/dev/ttyACM1?baud=115200&parity=none", Rig), Is.EqualTo(Rig with { Port = "/dev/ttyACM1", Baud = 115_200, Parity = SerialParity.None }));
        Assert.That(LinkUrl.Parse("pty:/tmp/tag", Rig), Is.EqualTo(new PtyLinkSpec("/tmp/tag")));
    });

    [TestCase("/dev/ttyUSB0", "did you mean serial:/dev/ttyUSB0?")]
    [TestCase("serail:/dev/ttyUSB0", "did you mean serial:?")]
    [TestCase("serial:/dev/ttyUSB0", "--link: no baud in serial; expected baud: a whole number from 50 to 20000000")]
    [TestCase("serial:?baud=9600", "--link: no port in serial; expected port: a port")]
    [TestCase("serial:/dev/ttyUSB0?baud=9600&partiy=even", "did you mean parity?")]
    [TestCase("serial:/dev/ttyUSB0?baud=9600&baud=1200", "--link: baud a second time in serial; expected each key once")]
    [TestCase("serial:/dev/ttyUSB0?baud", "--link: \"baud\" in serial; expected key=value")]
    [TestCase("tcp://localhost", "--link: tcp is \"localhost\"; expected host:port, such as localhost:5000")]
    [TestCase("tcp://localhost:70000", "with a port from 1 to 65535")]
    [TestCase("process:", "--link: process is a list of 0; expected a list of words: program and arguments with at least 1")]
    [TestCase("process:a 'b", "--link: an open quote in a 'b; expected a closing quote")]
    [TestCase("builtin:lines", "--link: no model in builtin")]
    [TestCase("builtin:lines?model=m.yaml&delay=20", "--link: builtin.delay is \"20\" without a unit; expected a duration with its unit, such as 12 s or 200 ms")]
    public void What_is_no_link_is_told(string url, string expected) =>
        Assert.That(Assert.Throws<BadInputException>(() => LinkUrl.Parse(url))!.Message, Does.Contain(expected));
}
