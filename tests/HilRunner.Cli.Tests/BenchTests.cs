using HilRunner.Cli.Tests.Faults;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>What a bench does to a device before it is played to: feeding it, erasing it, asking which of its images runs.</summary>
public class BenchTests
{
    private const string Belt = "scenarios/parcel/belt.yaml";
    private const int Error = 3;
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp() => _folder = TestPaths.NewFolder();

    [TearDown]
    public void TearDown() => _folder.Dispose();

    /// <summary>Commands and the form of an error after SCPI-99, vol. 2: OUTPut, SOURce:VOLTage, MEASure, SYSTem:ERRor? (21.8).</summary>
    [Test]
    public void ASupplyIsSetReadBackAndOnlyThenSwitchedOn()
    {
        using var supply = new BenchSupply();
        var result = Play(Fed(supply));
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(supply.Heard.Where(h => h != "SYST:ERR?"), Is.EqualTo(new[]
        {
            "*IDN?", "OUTP OFF", "OUTP?", "*IDN?", "VOLT 3.6", "CURR 0.1", "OUTP?", "MEAS:VOLT?", "VOLT?", "CURR?", "OUTP ON", "MEAS:CURR?", "MEAS:VOLT?",
        }));
        Assert.That(supply.IsOn);
        Assert.That(File.ReadAllText(Path.Combine(Directory.GetDirectories(_folder.File("runs")).Single(), "prepare.log")), Does.StartWith("supply: cycle\n> *IDN?\n  bench supply,model 1,0,1.0\n> OUTP OFF\n"));
    }

    [Test]
    public void AnotherInstrumentIsNotSwitched()
    {
        using var supply = new BenchSupply { Identity = "oscilloscope,model 2,0,1.0" };
        Refused(supply, "it says it is oscilloscope,model 2,0,1.0, expected ^bench supply,; nothing was switched");
        Assert.That(supply.Heard, Is.EqualTo(new[] { "*IDN?" }));
    }

    [Test]
    public void AnErrorThatItReportsEndsThePreparing()
    {
        using var supply = new BenchSupply { Refuses = "CURR" };
        Refused(supply, "CURR 0.1 was answered by the error -113,\"Undefined header\"");
        Assert.That(supply.Heard, Does.Not.Contain("OUTP ON"));
    }

    [Test]
    public void WhatItIsSetToIsInsideTheEnvelopeOrItStaysOff()
    {
        using var supply = new BenchSupply { Takes = volts => volts * 10 };
        Refused(supply, "it is set to 36 V, 0.1 A, outside its envelope (3 V to 4.2 V, at most 0.2 A); it was switched off");
        Assert.That(supply.Heard, Does.Not.Contain("OUTP ON"));
    }

    [Test]
    public void WhatItMeasuresIsInsideTheEnvelopeOrItIsSwitchedOff()
    {
        using var supply = new BenchSupply { Draws = 0.5 };
        Refused(supply, "it measures 3.6 V, 0.5 A, outside its envelope (3 V to 4.2 V, at most 0.2 A); it was switched off");
        Assert.That(supply.IsOn, Is.False);
    }

    [Test]
    public void OneThatDoesNotSayWhatItFeedsIsNotLeftOn()
    {
        using var supply = new BenchSupply { Mute = "MEAS:CURR?" };
        Refused(supply, "no answer to MEAS:CURR? within 3 s; is it on, and does it speak SCPI on this link?; it was switched off");
        Assert.That(supply.IsOn, Is.False);
    }

    [Test]
    public void OneThatDoesNotSwitchOffIsNotSaidToBeOff()
    {
        using var supply = new BenchSupply { Draws = 0.5, IsStuck = true };
        Refused(supply, "outside its envelope (3 V to 4.2 V, at most 0.2 A); it was told to switch off and does not say that it is off: see to it by hand");
        Assert.That(supply.Heard.TakeLast(2), Is.EqualTo(new[] { "OUTP OFF", "OUTP?" }));
    }

    [Test]
    public void ADeviceThatSomethingElseFeedsIsNotFed()
    {
        using var supply = new BenchSupply { Residual = 3.1 };
        Refused(supply, "3.1 V stand at its terminals while it is off: something else feeds the device");
        Assert.That(supply.Heard, Does.Not.Contain("OUTP ON"));
    }

    [Test]
    public void WhatMayNotBeErasedIsNotErasedUnattended()
    {
        string mark = _folder.File("erased");
        var result = Play(Rig($"prepare: [{{program: touch, args: ['{mark}'], erases: data}}]\nmay_erase: firmware\n"));
        Assert.That(result.Code, Is.EqualTo(64), result.Errors);
        Assert.That(result.Errors, Does.Contain($"rig virtual erases data on the device, which its file does not allow, and there is nobody to ask: say may_erase: data in {_folder.File("rig.yaml")}").And.Contain($"erases data: touch {mark}"));
        Assert.That(File.Exists(mark), Is.False);
    }

    [TestCase("n", 64)]
    [TestCase("y", 0)]
    public void APersonIsAskedBeforeItIsErased(string answer, int code)
    {
        string mark = _folder.File("erased");
        string rig = Rig($"prepare: [{{program: touch, args: ['{mark}'], erases: data}}]\n");
        using var hil = new HilOnTerminal("run", Belt, "--rig", rig, "--out", _folder.File("runs"));
        hil.WaitFor("Erase it? [y/N]");
        hil.Press(answer + "\n");
        Assert.That(hil.End(), Is.EqualTo(code), hil.Shown);
        Assert.That(File.Exists(mark), Is.EqualTo(code == 0));
        Assert.That(hil.Shown, Does.Contain($"erases data: touch {mark}"));
    }

    [Test]
    public void TheImageOnTheDeviceIsKeptBeforeItIsFlashed()
    {
        File.WriteAllText(_folder.File("on-device"), "build 1");
        File.WriteAllText(_folder.File("build-2.bin"), "build 2");
        string rig = Rig($"prepare: [[cp, '{{image}}', '{_folder.File("on-device")}']]\nmay_erase: firmware\nread_back: [cp, '{_folder.File("on-device")}', '{{kept}}']\n");
        var result = Play(rig, "--image", _folder.File("build-2.bin"));
        Assert.That(result.Code, Is.Zero, result.Errors);
        Assert.That(File.ReadAllText(Directory.GetFiles(_folder.File("runs/kept")).Single()), Is.EqualTo("build 1"));
        Assert.That(File.ReadAllText(_folder.File("on-device")), Is.EqualTo("build 2"));
    }

    [Test]
    public void WhereItCannotBeReadBackNothingIsErased()
    {
        File.WriteAllText(_folder.File("build-2.bin"), "build 2");
        string rig = Rig($"prepare: [[cp, '{{image}}', '{_folder.File("on-device")}']]\nmay_erase: firmware\nread_back: [cp, /no/such/flash, '{{kept}}']\n");
        var result = Play(rig, "--image", _folder.File("build-2.bin"));
        Assert.That(result.Code, Is.EqualTo(3), result.Errors);
        Assert.That(result.Errors, Does.Contain("/no/such/flash"));
        Assert.That(File.Exists(_folder.File("on-device")), Is.False);
    }

    /// <summary>The device never says a class: what stays in its slot is played, whatever the verdict.</summary>
    [TestCase("A", false)]
    [TestCase("B", true)]
    public void ADeviceThatFallsBackToItsOtherImageByAResetIsFound(string first, bool fallsBack)
    {
        File.WriteAllText(_folder.File("device.py"), $$"""
            import sys
            slot = '{{first}}'
            print('boot 1.0.0', flush=True)
            for line in sys.stdin:
                word = line.split()[0] if line.split() else ''
                if word == 'id': print(f'id tag 1.0.0 slot={slot} confirmed={"yes" if slot == "A" else "no"}', flush=True)
                if word == 'reset':
                    slot = 'A'
                    print('boot 1.0.0', flush=True)
                if word == 't': print('t', line.split()[1], 0, flush=True)
            """);
        string rig = Rig("", text => System.Text.RegularExpressions.Regex.Replace(text, @"link: \{builtin.*\}\}", $"link: {{process: [/usr/bin/python3, '{_folder.File("device.py")}']}}")
            .Replace("( (?<image>[0-9a-f]+))?$'", " slot=(?<slot>\\w+) confirmed=(?<confirmed>\\w+)$'", StringComparison.Ordinal));
        File.WriteAllText(_folder.File("short.yaml"), "scenario: short\nstimulus: [{synth: {rest: 1 s, class: resting}}]\nlead: 0 s\n");
        var result = Hil.Run("run", _folder.File("short.yaml"), "--rig", rig, "--out", _folder.File("runs"), "--speed", "real", "--quiet");
        Assert.That(result.Code, fallsBack ? Is.EqualTo(Error) : Is.Not.EqualTo(Error), result.Output + result.Errors);
        Assert.That(result.Output.ReplaceLineEndings(" ").Replace("  ", " ", StringComparison.Ordinal).Contains(
            "the device said slot B (confirmed: no) before a reset and slot A after it: it fell back to its other image; nothing was played: was the new one confirmed?", StringComparison.Ordinal), Is.EqualTo(fallsBack), result.Output);
    }

    private HilResult Play(string rig, params string[] more) => Hil.Run(["run", Belt, "--rig", rig, "--out", _folder.File("runs"), .. more]);

    private void Refused(BenchSupply supply, string said)
    {
        var result = Play(Fed(supply));
        Assert.That(result.Code, Is.EqualTo(3), result.Output + result.Errors);
        Assert.That(result.Errors, Does.Contain(said));
        Assert.That(Directory.Exists(_folder.File("runs")), Is.False, "nothing is played");
    }

    private string Fed(BenchSupply supply) => Rig($$"""
        prepare: [{supply: cycle, off_for: 50 ms}]
        supply: {scpi: {pty: {{supply.Path}}}, identity: '^bench supply,', voltage: 3.6 V, current: 100 mA, envelope: {at_least: 3 V, at_most: 4.2 V, current: 200 mA}, cell: removed}

        """);

    private string Rig(string more, Func<string, string>? change = null)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal);
        File.WriteAllText(_folder.File("rig.yaml"), (change?.Invoke(text) ?? text).TrimEnd() + "\n" + more);
        return _folder.File("rig.yaml");
    }
}
