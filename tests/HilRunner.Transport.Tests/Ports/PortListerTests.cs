using HilRunner.Transport.Ports;

namespace HilRunner.Transport.Tests.Ports;

[TestFixture]
public sealed class PortListerTests
{
    [Test]
    public void A_usb_port_is_listed_with_its_whole_identity()
    {
        using var tree = new MadeUpTree();
        tree.AddUsb("1-2", "ttyACM0", "1209", "0001", "A7F3", "Parcel tag", interfaceNumber: 2);
        tree.AddById("usb-tag_A7F3-if02", "ttyACM0");
        tree.AddById("usb-other", "ttyACM1");
        PortInfo port = new PortLister(tree.SysRoot, tree.DevRoot).List().Single();
        Assert.That(port.Path, Is.EqualTo(Path.Combine(tree.DevRoot, "ttyACM0")));
        Assert.That(port.Driver, Is.EqualTo("cdc_acm"));
        Assert.That(port.Usb, Is.EqualTo(new UsbIdentity(0x1209, 0x0001, "A7F3", "Bench works", "Parcel tag", 2)));
        Assert.That(port.ByIdNames, Is.EqualTo([Path.Combine(tree.DevRoot, "serial", "by-id", "usb-tag_A7F3-if02")]));
        Assert.That(port.Selector, Is.EqualTo("usb:1209:0001:A7F3:02"));
    }

    [Test]
    public void Ports_on_the_board_are_listed_only_when_they_have_a_uart()
    {
        using var tree = new MadeUpTree();
        tree.AddUart("ttyS0", type: 4);
        tree.AddUart("ttyS1", type: 0);
        tree.AddConsole("tty1");
        PortInfo port = new PortLister(tree.SysRoot, tree.DevRoot).List().Single();
        Assert.That(port, Is.EqualTo(port with { Path = Path.Combine(tree.DevRoot, "ttyS0"), Driver = "serial", Usb = null }));
        Assert.That(port.Selector, Is.EqualTo(port.Path));
    }

    [Test]
    public void Ports_come_in_the_order_a_person_counts_in()
    {
        using var tree = new MadeUpTree();
        foreach (int n in (int[])[10, 2, 1]) { tree.AddUsb($"1-{n}", $"ttyUSB{n}", "1209", "0002", null, "Pump monitor", 0); }
        tree.AddUsb("1-11", "ttyACM3", "1209", "0002", null, "Pump monitor", 0);
        Assert.That(new PortLister(tree.SysRoot, tree.DevRoot).List().Select(p => Path.GetFileName(p.Path)),
            Is.EqualTo(["ttyACM3", "ttyUSB1", "ttyUSB2", "ttyUSB10"]));
    }

    [Test]
    public void A_machine_without_sysfs_has_no_ports_to_list() =>
        Assert.That(new PortLister("/nowhere/sys", "/nowhere/dev").List(), Is.Empty);

    [Test]
    public void The_ports_of_this_machine_can_be_listed_without_opening_one()
    {
        foreach (PortInfo port in new PortLister().List())
        {
            Assert.That(port.Path, Does.StartWith("/dev/"));
            Assert.That(File.Exists(port.Path), Is.True, port.Path);
        }
    }
}
