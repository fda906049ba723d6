using System.Text;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Tests.Documents;

/// <summary>Changes one to three places of a document at random and writes it in block style.</summary>
internal static class NodeMutation
{
    private static readonly string[] Scalars =
    [
        "12", "12 s", "200ms", "\"\"", "", "~", "true", "x", "-1", "0", "0x10", "1e9", "1.0", "95 %", "0.5", "\"0.5\"", "50 Hz", "1 mg", "90 deg", "5 ms", "\"12\"",
        "lines", "none", ".inf", "2 parsecs", "\"a b\"", "99999999999999999999", "[]", "{}", "[1, 2]", "{a: 1}", "{mask: 1}", "[{class: u8}]", "'(?<class>.)'", "carried", "z",
    ];

    private static readonly string[] Keys = ["type", "fields", "class", "mask", "shift", "scale", "value", "rest", "for", "at_most", "program", "extra", "wait", "until", "0", "_"];

    public static string Mutate(Node root, Random random)
    {
        var places = All(root).ToList();
        var changes = new Dictionary<Node, Func<Node, string>>(ReferenceEqualityComparer.Instance);
        var dropped = new HashSet<Node>(ReferenceEqualityComparer.Instance);
        var added = new Dictionary<Node, (string Key, string Value)>(ReferenceEqualityComparer.Instance);
        for (int n = random.Next(1, 4); n > 0; n--)
        {
            Node place = places[random.Next(places.Count)];
            switch (random.Next(4))
            {
                case 0: dropped.Add(place); break;
                case 1 when place is MapNode: added[place] = (Keys[random.Next(Keys.Length)], Scalars[random.Next(Scalars.Length)]); break;
                default: string value = Scalars[random.Next(Scalars.Length)]; changes[place] = _ => value; break;
            }
        }
        var text = new StringBuilder();
        Write(root, 0, text);
        return text.ToString();

        void Write(Node node, int indent, StringBuilder output)
        {
            string margin = new(' ', indent);
            if (changes.TryGetValue(node, out var change)) { output.Append(' ').Append(change(node)).Append('\n'); return; }
            switch (node)
            {
                case ScalarNode scalar:
                    output.Append(' ').Append(scalar.Plain ? scalar.Text : YamlDouble(scalar.Text)).Append('\n');
                    break;
                case ListNode list when list.Items.Any(i => !dropped.Contains(i)):
                    output.Append('\n');
                    foreach (Node item in list.Items.Where(i => !dropped.Contains(i)))
                    {
                        output.Append(margin).Append('-');
                        Write(item, indent + 2, output);
                    }
                    break;
                case MapNode map when map.Entries.Any(e => !dropped.Contains(e.Value)) || added.ContainsKey(map):
                    output.Append('\n');
                    foreach (var (key, value) in map.Entries.Where(e => !dropped.Contains(e.Value)))
                    {
                        output.Append(margin).Append(key.Text).Append(':');
                        Write(value, indent + 2, output);
                    }
                    if (added.TryGetValue(map, out var more)) { output.Append(margin).Append($"{more.Key}: {more.Value}\n"); }
                    break;
                default:
                    output.Append(node is ListNode ? " []\n" : " {}\n");
                    break;
            }
        }
    }

    private static IEnumerable<Node> All(Node node) => node switch
    {
        ListNode list => list.Items.SelectMany(All).Prepend(node),
        MapNode map => map.Entries.SelectMany(e => All(e.Value)).Prepend(node),
        _ => [node],
    };

    private static string YamlDouble(string text) => YamlText.Inline(text) is ['"', ..] quoted ? quoted : $"\"{text}\"";
}
