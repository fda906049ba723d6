using HilRunner.Core.Links;
using HilRunner.Transport.Ports;

namespace HilRunner.Transport.Tests.Ports;

[TestFixture]
public sealed class PortSelectorTests
{
    [TestCase("usb:1209:0001:A7F3", "ttyACM0")]
    [TestCase("USB:1209:0001:A7F3:00", "ttyACM0")]
    [TestCase("usb:1209:0001:B811:00", "ttyACM1")]
    [TestCase("usb:1209:0001:B811:02", "ttyACM2")]
    [TestCase("usb:1209:1", "", Description = "three ports fit")]
    [TestCase("usb:1209:0001:B811", "", Description = "two interfaces of one board fit")]
    [TestCase("usb:1209:0004:02", "ttyACM5", Description = "no serial number: the interface alone")]
    [TestCase("usb:1209:ab", "ttyACM3")]
    [TestCase("usb:1209:00AB:02:4c:ff", "ttyACM3", Description = "a serial number with colons")]
    [TestCase("usb:1209:00AB:02:4c:ff:00", "ttyACM3")]
    public void A_selector_finds_its_one_port_or_is_ambiguous(string selector, string expected)
    {
        using MadeUpTree tree = Bench();
        var lister = new PortLister(tree.SysRoot, tree.DevRoot);
        if (expected.Length > 0)
        {
            Assert.That(Path.GetFileName(PortSelector.Resolve(selector, lister)), Is.EqualTo(expected));
            return;
        }
        var failure = Assert.Throws<LinkException>(() => PortSelector.Resolve(selector, lister))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Ambiguous));
        Assert.That(failure.Message, Does.Contain("usb:1209:0001:B811:00").And.Contain("ttyACM1").And.Contain("usb:1209:0001:B811:02").And.Contain("ttyACM2"));
    }

    [Test]
    public void Every_listed_selector_finds_its_own_port()
    {
        using MadeUpTree tree = Bench();
        var lister = new PortLister(tree.SysRoot, tree.DevRoot);
        Assert.That(lister.List(), Has.Count.EqualTo(6));
        foreach (PortInfo port in lister.List()) { Assert.That(PortSelector.Resolve(port.Selector, lister), Is.EqualTo(port.Path)); }
    }

    [Test]
    public void Two_boards_without_serial_numbers_are_ambiguous()
    {
        using var tree = new MadeUpTree();
        tree.AddUsb("1-1", "ttyUSB0", "1209", "0003", null, "Pump monitor", 0);
        tree.AddUsb("1-2", "ttyUSB1", "1209", "0003", null, "Pump monitor", 0);
        var failure = Assert.Throws<LinkException>(() => PortSelector.Resolve("usb:1209:0003", new PortLister(tree.SysRoot, tree.DevRoot)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Ambiguous));
        Assert.That(failure.Message, Does.Contain("ttyUSB0").And.Contain("ttyUSB1").And.Contain("path"));
    }

    [Test]
    public void A_board_that_is_not_plugged_in_is_missing_and_the_others_are_named()
    {
        using MadeUpTree tree = Bench();
        var failure = Assert.Throws<LinkException>(() => PortSelector.Resolve("usb:1209:0001:C000", new PortLister(tree.SysRoot, tree.DevRoot)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(failure.Message, Does.Contain("usb:1209:0001:C000").And.Contain("usb:1209:0001:A7F3"));
    }

    [Test]
    public void An_interface_alone_never_picks_a_board_that_has_a_serial_number()
    {
        using MadeUpTree tree = Bench();
        var failure = Assert.Throws<LinkException>(() => PortSelector.Resolve("usb:1209:0001:02", new PortLister(tree.SysRoot, tree.DevRoot)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
    }

    [TestCase("usb:1209")]
    [TestCase("usb:12g9:0001")]
    [TestCase("usb::0001")]
    [TestCase("usb:12090:0001")]
    public void A_malformed_selector_is_refused_with_an_example(string selector)
    {
        using MadeUpTree tree = Bench();
        var failure = Assert.Throws<LinkException>(() => PortSelector.Resolve(selector, new PortLister(tree.SysRoot, tree.DevRoot)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.WrongKind));
        Assert.That(failure.Message, Does.Contain(selector).And.Contain("usb:1209:0001:A7F3"));
    }

    private static MadeUpTree Bench()
    {
        var tree = new MadeUpTree();
        tree.AddUsb("1-1", "ttyACM0", "1209", "0001", "A7F3", "Parcel tag", 0);
        tree.AddUsb("1-2", "ttyACM1", "1209", "0001", "B811", "Parcel tag", 0);
        tree.AddUsb("1-2", "ttyACM2", "1209", "0001", "B811", "Parcel tag", 2);
        tree.AddUsb("1-3", "ttyACM3", "1209", "00ab", "02:4c:ff", "Pump monitor", 0);
        tree.AddUsb("1-4", "ttyACM4", "1209", "0004", null, "Pump monitor", 0);
        tree.AddUsb("1-4", "ttyACM5", "1209", "0004", null, "Pump monitor", 2);
        return tree;
    }
}
