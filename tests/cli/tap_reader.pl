# Reads TAP from standard input with Perl's TAP::Parser and prints what it made of it as JSON.
use strict; use warnings;
use TAP::Parser; use JSON::PP;
my $tap = do { local $/; <STDIN> };
my $parser = TAP::Parser->new({ tap => $tap });
my (@tests, @yaml, @unknown);
while (my $one = $parser->next) {
    if ($one->is_test) {
        push @tests, { ok => ($one->is_actual_ok ? JSON::PP::true : JSON::PP::false), number => $one->number + 0,
                       description => $one->description, directive => $one->directive };
    }
    elsif ($one->is_yaml) { push @yaml, $one->data }
    elsif ($one->is_unknown) { push @unknown, $one->as_string }
}
print JSON::PP->new->latin1->encode({ tests => \@tests, yaml => \@yaml, unknown => \@unknown, plan => $parser->plan,
                                      errors => [ $parser->parse_errors ] });
