using System.Globalization;
using System.Text.Json;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Tests.Links;

/// <summary>What is set is checked by other programs that read the terminal: stty (coreutils) and Python's termios.</summary>
[TestFixture]
public sealed class SerialSettingsTests
{
    private readonly HostClock _clock = new(TimeProvider.System);

    [TestCase(9_600)]
    [TestCase(115_200)]
    [TestCase(921_600)]
    [TestCase(2_000_000)]
    public void The_terminal_gets_the_speed_and_is_raw(int baud)
    {
        using PtyHost host = PtyHost.Create(_clock);
        // A terminal as some program left it: cooked, echoing.
        Stty(host.Path, "sane");
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, baud));
        string settings = Stty(host.Path, "-a");
        Assert.That(settings, Does.Contain($"speed {baud.ToString(CultureInfo.InvariantCulture)} baud"));
        foreach (string off in (string[])["-echo", "-icanon", "-isig", "-iexten", "-opost", "-icrnl", "-inlcr", "-igncr", "-ixon", "-ixoff", "-istrip", "-brkint", "-crtscts"])
        {
            Assert.That(settings.Split([' ', '\n', ';']), Does.Contain(off));
        }
        Assert.That(settings, Does.Contain("cs8").And.Contain("min = 1").And.Contain("time = 0"));
    }

    [Test]
    public void Speeds_off_the_usual_list_are_set_exactly()
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 12_345));
        // TCGETS2 = 0x802C542A; c_ospeed is the last of eleven words (asm-generic/termbits.h).
        string speeds = Child.Python("""
            import fcntl, os, struct, sys
            fd = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
            words = struct.unpack("11I", fcntl.ioctl(fd, 0x802C542A, bytes(44)))
            print(words[9], words[10])
            """, host.Path);
        Assert.That(speeds.Trim(), Is.EqualTo("12345 12345"));
    }

    [TestCase(SerialHandshake.RtsCts, "crtscts")]
    [TestCase(SerialHandshake.XonXoff, "ixon", "ixoff", "start = ^Q", "stop = ^S")]
    public void Flow_control_is_set(SerialHandshake handshake, params string[] expected)
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200) { Handshake = handshake });
        string settings = " " + Stty(host.Path, "-a").Replace('\n', ' ');
        foreach (string word in expected) { Assert.That(settings, Does.Contain(" " + word)); }
    }

    [TestCase(true, "hupcl")]
    [TestCase(false, "-hupcl")]
    [TestCase(null, "hupcl", Description = "as it was before")]
    public void Hanging_up_on_close_is_left_unless_asked(bool? hangUp, string expected)
    {
        using PtyHost host = PtyHost.Create(_clock);
        Stty(host.Path, hangUp is true ? "-hupcl" : "hupcl");
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200) { HangUpOnClose = hangUp });
        Assert.That(Stty(host.Path, "-a").Split([' ', '\n']), Does.Contain(expected));
    }

    [Test]
    public void Two_stop_bits_are_set()
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200) { StopBits = 2 });
        Assert.That(Stty(host.Path, "-a").Split([' ', '\n']), Does.Contain("cstopb"));
    }

    /// <summary>A pseudo-terminal keeps 8 bits without parity whatever is asked, so the flags are compared with Python's constants instead.</summary>
    [Test]
    public void Data_bits_and_parity_become_the_flags_of_the_system()
    {
        string json = Child.Python("""
            import json, termios
            names = "CSIZE CS5 CS6 CS7 CS8 CSTOPB CREAD PARENB PARODD HUPCL CLOCAL CRTSCTS IXON IXOFF IXANY ECHO ICANON ISIG IEXTEN OPOST INPCK ISTRIP BRKINT".split()
            values = {n: getattr(termios, n) & 0xffffffff for n in names}
            values["CMSPAR"] = 0x40000000   # asm-generic/termbits.h; not among Python's names before 3.13
            print(json.dumps(values))
            """);
        Dictionary<string, uint> system = JsonSerializer.Deserialize<Dictionary<string, uint>>(json)!;
        var ours = new Dictionary<string, uint>
        {
            ["CSIZE"] = Termios2.CSIZE, ["CREAD"] = Termios2.CREAD, ["CLOCAL"] = Termios2.CLOCAL, ["HUPCL"] = Termios2.HUPCL,
            ["IXON"] = Termios2.IXON, ["IXOFF"] = Termios2.IXOFF, ["IXANY"] = Termios2.IXANY, ["INPCK"] = Termios2.INPCK,
            ["ISTRIP"] = Termios2.ISTRIP, ["BRKINT"] = Termios2.BRKINT, ["ECHO"] = Termios2.ECHO, ["ICANON"] = Termios2.ICANON,
            ["ISIG"] = Termios2.ISIG, ["IEXTEN"] = Termios2.IEXTEN, ["OPOST"] = Termios2.OPOST,
        };
        foreach ((string name, uint value) in ours) { Assert.That(value, Is.EqualTo(system[name]), name); }
        var spec = new SerialLinkSpec("/dev/ttyACM0", 115_200);
        uint frame = system["CSIZE"] | system["PARENB"] | system["PARODD"] | system["CMSPAR"] | system["CSTOPB"] | system["CRTSCTS"];
        foreach ((SerialLinkSpec asked, string[] expected) in ((SerialLinkSpec, string[])[])
            [(spec, ["CS8"]), (spec with { DataBits = 7, Parity = SerialParity.Even }, ["CS7", "PARENB"]),
            (spec with { Parity = SerialParity.Odd }, ["CS8", "PARENB", "PARODD"]), (spec with { Parity = SerialParity.Mark }, ["CS8", "PARENB", "PARODD", "CMSPAR"]),
            (spec with { Parity = SerialParity.Space }, ["CS8", "PARENB", "CMSPAR"]), (spec with { DataBits = 5, StopBits = 1.5 }, ["CS5", "CSTOPB"]),
            (spec with { DataBits = 6, StopBits = 2, Handshake = SerialHandshake.RtsCts }, ["CS6", "CSTOPB", "CRTSCTS"])])
        {
            // Whatever the terminal had before.
            foreach (uint before in (uint[])[0, uint.MaxValue])
            {
                Termios2 settings = SerialSettings.Apply(asked, new Termios2 { ControlFlags = before });
                Assert.That(settings.ControlFlags & frame, Is.EqualTo(expected.Aggregate(0u, (flags, name) => flags | system[name])), asked.ToString());
                Assert.That(settings.ControlFlags & (system["CREAD"] | system["CLOCAL"]), Is.EqualTo(system["CREAD"] | system["CLOCAL"]));
            }
        }
    }

    [Test]
    public void Speeds_that_have_a_code_use_it()
    {
        string json = Child.Python("""
            import json, termios
            print(json.dumps({n[1:]: getattr(termios, n) for n in dir(termios) if n[0] == "B" and n[1:].isdigit() and n != "B0"}))
            """);
        Dictionary<string, uint> codes = JsonSerializer.Deserialize<Dictionary<string, uint>>(json)!;
        Assert.That(codes, Has.Count.EqualTo(30));
        foreach ((string baud, uint code) in codes)
        {
            Termios2 settings = default;
            settings.SetSpeed(uint.Parse(baud, CultureInfo.InvariantCulture));
            Assert.That(settings.ControlFlags, Is.EqualTo(code), baud);
        }
    }

    [Test]
    public void A_port_that_sets_itself_otherwise_is_refused()
    {
        var spec = new SerialLinkSpec("/dev/ttyACM0", 115_200) { Parity = SerialParity.Even };
        Termios2 asked = SerialSettings.Apply(spec, default);
        Assert.DoesNotThrow(() => SerialSettings.Verify(spec, asked, asked with { OutputSpeed = 114_286 }));
        var speed = Assert.Throws<LinkException>(() => SerialSettings.Verify(spec, asked, asked with { OutputSpeed = 9_600 }))!;
        Assert.That(speed.Message, Does.Contain("115200").And.Contain("9600"));
        Assert.Throws<LinkException>(() => SerialSettings.Verify(spec, asked, asked with { ControlFlags = asked.ControlFlags & ~Termios2.PARENB }));
    }

    [TestCase(LineState.On)]
    [TestCase(LineState.Off)]
    [TestCase(LineState.Leave)]
    public void Lines_are_optional_where_a_port_has_none(LineState state)
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200) { Dtr = state, Rts = state });
    }

    private static string Stty(string path, string argument)
    {
        using var child = new Child("stty", "-F", path, argument);
        return child.ReadToEnd();
    }
}
